"""A page of paper that is written from top to bottom and turned when it is full.

Type is DejaVu Sans (free; it comes with matplotlib), drawn with fpdf2 (LGPL-3.0): the text stays
text.
"""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Final

from fpdf import FPDF
from fpdf.enums import MethodReturnValue
from matplotlib import get_data_path

MARGIN_MM, FOOT_MM = 12.0, 16.0
PT_MM = 25.4 / 72.0
LEADING = 1.25  # of the type's size
_FACE: Final = "DejaVu"
_STYLES: Final = {"": "DejaVuSans", "B": "DejaVuSans-Bold", "I": "DejaVuSans-Oblique"}


class _Paper(FPDF):
    """Paper with a note and the page's number at its foot."""

    def __init__(self, paper: str, note: str) -> None:
        super().__init__(format=paper)
        self.note = note

    def footer(self) -> None:
        """Draw the foot."""
        top = self.h - FOOT_MM + 4.0
        self.set_line_width(0.3)
        self.line(MARGIN_MM, top, MARGIN_MM + self.epw, top)
        self.set_font(_FACE, "", 9.0)
        self.set_xy(MARGIN_MM, top + 1.5)
        self.cell(self.epw * 0.75, 5.0, self.note)
        self.cell(self.epw * 0.25, 5.0, f"page {self.page_no()}", align="R")


class Page:
    """Pages written one after the other.

    Parameters
    ----------
    paper : str
        "A4" or "Letter".
    title : str
        Of the document.
    note : str
        At the foot of each page.
    made : datetime
        When it was made.
    """

    def __init__(self, paper: str, title: str, note: str, made: datetime) -> None:
        self.pdf = pdf = _Paper(paper, note)
        for style, name in _STYLES.items():
            pdf.add_font(_FACE, style, Path(get_data_path()) / "fonts" / "ttf" / f"{name}.ttf")
        pdf.set_margin(MARGIN_MM)
        pdf.set_auto_page_break(False)
        pdf.set_creation_date(made)
        pdf.set_title(title)
        pdf.set_lang("en")
        self.head: Callable[[], None] = lambda: None

    @property
    def width_mm(self) -> float:
        """What can be written on, from left to right."""
        return float(self.pdf.epw)

    @property
    def left_mm(self) -> float:
        """Where that begins."""
        return MARGIN_MM

    @property
    def y_mm(self) -> float:
        """How far down the page is written."""
        return float(self.pdf.get_y())

    def finished(self) -> bytes:
        """Give the document."""
        return bytes(self.pdf.output())

    def turn(self, head: Callable[[], None]) -> None:
        """Begin a page, and let those that follow begin with the same head."""
        self.head = head
        self.pdf.add_page()
        head()

    def fits(self, height_mm: float) -> bool:
        """Whether so much still fits on the page."""
        return self.y_mm + height_mm <= float(self.pdf.h) - FOOT_MM

    def room(self, height_mm: float) -> bool:
        """Turn the page where so much no longer fits; say whether it was turned."""
        if self.fits(height_mm):
            return False
        self.turn(self.head)
        return True

    def style(self, size_pt: float, style: str = "") -> None:
        """Choose the type: plain, "B" bold or "I" slanted."""
        self.pdf.set_font(_FACE, style, size_pt)

    def height(self, text: str, width_mm: float, size_pt: float, style: str = "") -> float:
        """Give how high a text is when set to a width [mm]."""
        self.style(size_pt, style)
        lead = size_pt * PT_MM * LEADING
        lines = self.pdf.multi_cell(width_mm, lead, text, dry_run=True, align="L",
                                    output=MethodReturnValue.LINES)
        return lead * len(lines) if isinstance(lines, list) else lead

    def text(self, text: str, size_pt: float, style: str = "", x_mm: float = 0.0,
             width_mm: float | None = None) -> None:
        """Set a text from the present height down, `x_mm` from the margin."""
        self.style(size_pt, style)
        self.pdf.set_x(self.left_mm + x_mm)
        width = self.width_mm - x_mm if width_mm is None else width_mm
        self.pdf.multi_cell(width, size_pt * PT_MM * LEADING, text, align="L",
                            new_x="LMARGIN", new_y="NEXT")

    def down(self, mm: float) -> None:
        """Leave so much free."""
        self.pdf.set_y(self.y_mm + mm)

    def rule(self, width_mm: float = 0.3) -> None:
        """Draw a line across the page."""
        self.pdf.set_line_width(width_mm)
        self.pdf.line(self.left_mm, self.y_mm, self.left_mm + self.width_mm, self.y_mm)

    def bar(self, text: str, beside: str) -> None:
        """Set white on black across the page: what stands on the left, and beside it."""
        width = self.width_mm - (62.0 if beside else 4.0)
        height = max(self.height(text, width, 14.0, "B") + 2.4, 9.0)
        top = self.y_mm
        self.pdf.set_fill_color(0)
        self.pdf.rect(self.left_mm, top, self.width_mm, height, style="F")
        self.pdf.set_text_color(255)
        self.pdf.set_y(top + 1.2)
        self.text(text, 14.0, "B", 2.0, width)
        self.pdf.set_y(top + 1.8)
        self.style(12.0, "B")
        self.pdf.set_x(self.left_mm + self.width_mm - 60.0)
        self.pdf.cell(58.0, 5.5, beside, align="R")
        self.pdf.set_text_color(0)
        self.pdf.set_y(top + height)

    def box(self, x_mm: float, y_mm: float, width_mm: float, height_mm: float,
            line_mm: float = 0.6) -> None:
        """Draw an empty box, `x_mm` from the margin."""
        self.pdf.set_line_width(line_mm)
        self.pdf.rect(self.left_mm + x_mm, y_mm, width_mm, height_mm)
