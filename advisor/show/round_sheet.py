"""The round on paper: one page by place, a box to tick beside every tree."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from advisor.jobs.judge import WATER_NOW
from advisor.jobs.morning import Round, TreeVerdict
from advisor.show.moments import headline
from advisor.show.paper import Page
from advisor.show.reasons import Words, beside_words, reasons
from advisor.show.sheet import A4, ESTIMATES
from advisor.show.wording import Leaning, bench_words, summary, verdict_words, weather_lines

#: Sizes of type tried until the round fits one page [pt], and the one in which it takes several.
SIZES_PT: Final = (12.0, 11.0, 10.0, 9.0, 8.0)
SEVERAL_PT: Final = 10.0
COLUMN_GAP_MM: Final = 6.0
TWO_COLUMNS: Final = 24  # trees from which two columns are tried
WITH_REASONS: Final = 10.0  # smaller than this [pt], why is left out


@dataclass(frozen=True)
class _Line:
    """One line of the sheet: a bench, or a tree with its box."""

    text: str
    bench: bool = False
    strong: bool = False


def round_sheet(told: Round, leaning: Leaning, paper: str = A4, us: bool = False) -> bytes:
    """Draw the round on one page, in the largest type in which it fits; else on several.

    Parameters
    ----------
    told : Round
    leaning : Leaning
    paper : str
        "A4" or "Letter".
    us : bool
        Inches and US gallons.
    """
    words = Words(told, us)
    columns = (1,) if len(told.trees) < TWO_COLUMNS else (1, 2)
    for size_pt in SIZES_PT:
        lines = _lines(told, words, size_pt >= WITH_REASONS)
        for count in columns:
            sheet = _Sheet(paper, told, leaning, words, size_pt)
            if sheet.fill(lines, count):
                return sheet.page.finished()
    sheet = _Sheet(paper, told, leaning, words, SEVERAL_PT)
    sheet.fill(_lines(told, words, why=False), columns[-1])
    return sheet.page.finished()


def _lines(told: Round, words: Words, why: bool) -> list[_Line]:
    found = []
    for place, those in groupby(told.trees, key=lambda tree: tree.place):
        trees = list(those)
        now = [tree for tree in trees if tree.verdict == WATER_NOW]
        found.append(_Line(bench_words(place.name if place else "no place told", trees, now,
                                       words), bench=True))
        found += [_Line(_tree_words(tree, words, why), strong=tree.verdict == WATER_NOW)
                  for tree in trees]
    return found


def _tree_words(tree: TreeVerdict, words: Words, why: bool) -> str:
    said = [f"{tree.label}  {tree.name}: {verdict_words(tree, words)}",
            *(beside_words(each, words) for each in tree.also)]
    if why and tree.recovery is not None:
        said += reasons(tree, words)[:1]
    return ". ".join(each[:1].upper() + each[1:] for each in said)


class _Sheet:
    """The page while it is written."""

    def __init__(self, paper: str, told: Round, leaning: Leaning, words: Words,
                 size_pt: float) -> None:
        title = headline(told.at, words.zone)
        self.page = Page(paper, f"The round, {title}", ESTIMATES, told.at)
        self.size_pt = size_pt
        self.page.turn(lambda: self.page.text(title, 16.0, "B"))
        for line in [summary(told, words), *weather_lines(told, leaning, words)]:
            self.page.text(line, min(size_pt, 10.0))
        self.page.down(1.5)

    @property
    def box_mm(self) -> float:
        """The side of a box to tick."""
        return max(0.33 * self.size_pt, 2.6)

    def fill(self, lines: Sequence[_Line], columns: int) -> bool:
        """Write the lines in columns; say whether they fitted one page."""
        page, top = self.page, self.page.y_mm
        width = (page.width_mm - (columns - 1) * COLUMN_GAP_MM) / columns
        column = 0
        for line in lines:
            if not page.fits(self._height(line, width)):
                column += 1
                if column % columns == 0:
                    page.turn(page.head)
                    page.down(1.5)
                    top = page.y_mm
                page.pdf.set_y(top)
            self._write(line, (column % columns) * (width + COLUMN_GAP_MM), width)
        return column < columns

    def _text_at(self, line: _Line) -> float:
        return 0.0 if line.bench else self.box_mm + 2.0

    def _height(self, line: _Line, width_mm: float) -> float:
        style = "B" if line.bench or line.strong else ""
        text = self.page.height(line.text, width_mm - self._text_at(line), self.size_pt, style)
        return max(text, self.box_mm) + (3.0 if line.bench else 1.2)

    def _write(self, line: _Line, x_mm: float, width_mm: float) -> None:
        page, top, height = self.page, self.page.y_mm, self._height(line, width_mm)
        if line.bench:
            page.down(1.6)
        else:
            page.box(x_mm, top + 0.5, self.box_mm, self.box_mm, 0.35)
        style = "B" if line.bench or line.strong else ""
        page.text(line.text, self.size_pt, style, x_mm + self._text_at(line),
                  width_mm - self._text_at(line))
        page.pdf.set_y(top + height)
