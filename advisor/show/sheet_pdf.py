"""The helper's sheet on paper: PDF, A4 or US Letter, large type, black on white."""

from collections.abc import Sequence
from datetime import datetime

from advisor.show import sheet as says
from advisor.show.moments import headline, litres
from advisor.show.paper import Page
from advisor.show.sheet import Sheet, SheetPot, SheetVisit

#: Columns of a visit's list [mm]: box to tick, frame for a picture, label, litres, marks.
TICK_MM, FRAME_MM, LABEL_MM, LITRES_MM, MARK_MM, GAP_MM = 9.0, 18.0, 20.0, 44.0, 15.0, 3.0
#: A row, and one where there are more than so many of them [mm].
ROW_MM, CLOSE_MM, MANY = 17.0, 13.0, 10
#: The table of all visits [mm]: trees, one visit.
TREE_MM, VISIT_MM, CELL_MM = 66.0, 24.0, 10.5


def by_visit(sheet: Sheet, made: datetime, paper: str = says.A4) -> bytes:
    """Draw a page that says how, then a page or more for each visit.

    Parameters
    ----------
    sheet : Sheet
    made : datetime
        When it was made; the same sheet made at the same moment is the same to the last byte.
    paper : str
        "A4" or "Letter".
    """
    page = _Page(sheet, made, paper)
    _how(page)
    for number in range(len(sheet.visits)):
        _visit(page, number)
    return page.finished()


def all_in_one(sheet: Sheet, made: datetime, paper: str = says.A4) -> bytes:
    """Draw a page that says how, then one table: a row for each tree, a column for each visit.

    Parameters
    ----------
    sheet : Sheet
    made : datetime
        When it was made.
    paper : str
        "A4" or "Letter".
    """
    page = _Page(sheet, made, paper)
    _how(page)
    columns = int((page.width_mm - TREE_MM) // VISIT_MM)
    for first in range(0, len(sheet.visits), columns):
        _table(page, sheet.visits[first:first + columns])
    return page.finished()


class _Page(Page):
    """Pages of a sheet."""

    def __init__(self, sheet: Sheet, made: datetime, paper: str) -> None:
        super().__init__(paper, f"Watering, {says.span(sheet)}", says.ESTIMATES, made)
        self.sheet = sheet
        self.row_mm = ROW_MM

    @property
    def name_pt(self) -> float:
        """The type of names, smaller where rows are close."""
        return 14.0 if self.row_mm == ROW_MM else 12.5


# --- how ---------------------------------------------------------------------------------


def _how(page: _Page) -> None:
    """The first page: when to come, how to water, what not to do, whom to call."""
    sheet = page.sheet
    page.turn(lambda: None)
    page.text("Watering the trees", 28.0, "B")
    page.text(says.span(sheet), 14.0, "B")
    if sheet.garden:
        page.text(sheet.garden, 14.0)
    if sheet.phone:
        page.down(2.0)
        page.text(f"Phone: {says.phone(sheet)}", 20.0, "B")
    _dates(page)
    can = [f"The can holds {litres(sheet.can_l, sheet.us)}."] if sheet.can_l else []
    _section(page, "How to water",
             [*(f"{i}. {line}" for i, line in enumerate(says.HOW, 1)), *can])
    _section(page, "What not to do", [*says.DONT, *says.left_alone(sheet)])
    rules = [rule for rule in (sheet.hot_rule, sheet.rain_rule) if rule]
    if rules:
        _section(page, "Heat and rain", rules)
    _section(page, "If something looks wrong", says.trouble(sheet))
    _section(page, "Mind", [" ".join(says.CAUTIONS)], 10.5)


def _dates(page: _Page) -> None:
    sheet = page.sheet
    if not sheet.visits:
        _section(page, "When to come", ["No visit is needed."])
        return
    lines = [f"{headline(visit.at, sheet.zone)}: {says.visit_amount(sheet, visit)}"
             for visit in sheet.visits]
    _section(page, "When to come", lines, 12.0 if len(lines) <= 6 else 10.5)


def _section(page: _Page, title: str, lines: Sequence[str], size_pt: float = 12.0) -> None:
    """Set a title and its lines, the title never alone at the foot of a page."""
    first = page.height(lines[0], page.width_mm - 5.0, size_pt)
    page.room(12.0 + first)
    page.down(3.0)
    page.text(title, 15.0, "B")
    for line in lines:
        page.room(page.height(line, page.width_mm - 5.0, size_pt) + 1.0)
        page.down(0.7)
        page.text(line, size_pt, x_mm=5.0, width_mm=page.width_mm - 5.0)


# --- one visit ---------------------------------------------------------------------------


def _visit(page: _Page, number: int) -> None:
    sheet, visit = page.sheet, page.sheet.visits[number]

    def head() -> None:
        page.text(headline(visit.at, sheet.zone), 22.0, "B")
        page.text(f"Visit {number + 1} of {len(sheet.visits)}: {says.visit_amount(sheet, visit)}",
                  13.0)
        page.text(says.HOW_SHORT, 11.0, "I")
        page.down(2.0)

    page.row_mm = ROW_MM if len(visit.pots) <= MANY else CLOSE_MM
    page.turn(head)
    _warning(page)
    for place, pots in says.benches(visit.pots):
        _bench(page, place, pots)
    _foot(page)


def _bench(page: _Page, place: str, pots: Sequence[SheetPot]) -> None:
    title = place[:1].upper() + place[1:]
    page.room(10.0 + _row_height(page, pots[0]))
    page.bar(title, says.amount(pots, page.sheet.us))
    for pot in pots:
        if page.room(_row_height(page, pot)):
            page.bar(f"{title}, continued", "")
        _row(page, pot)
    page.down(3.0)


def _columns(page: _Page) -> tuple[float, float, float, float]:
    """Give where label, name, litres and marks begin [mm from the margin]."""
    label = TICK_MM + GAP_MM + FRAME_MM + GAP_MM
    marks = page.width_mm - MARK_MM
    return label, label + LABEL_MM + GAP_MM, marks - LITRES_MM, marks


def _row_height(page: _Page, pot: SheetPot) -> float:
    label, name, amount, marks = _columns(page)
    high = max(page.height(pot.name, amount - name - GAP_MM, page.name_pt),
               page.height(pot.label, LABEL_MM, _label_pt(page, pot), "B"),
               _amount_height(page, pot))
    if pot.only_if:
        high += page.height(f"Only if {pot.only_if}.", marks - name, 12.0, "I")
    return max(high + 3.0, page.row_mm)


def _amount_height(page: _Page, pot: SheetPot) -> float:
    cans = _cans(page.sheet, pot)
    return 8.8 + (page.height(cans, LITRES_MM, 10.0) if cans else 0.0)


def _cans(sheet: Sheet, pot: SheetPot) -> str | None:
    return says.in_cans(pot.litres, sheet.can_l) if sheet.can_l else None


def _label_pt(page: _Page, pot: SheetPot) -> float:
    """Give the largest type in which a label fits its column."""
    for size_pt in (20.0, 16.0):
        page.style(size_pt, "B")
        if page.pdf.get_string_width(pot.label) <= LABEL_MM - 3.0:
            return size_pt
    return 12.0


def _row(page: _Page, pot: SheetPot) -> None:
    """One pot: a box to tick, a frame for its picture, label, name, litres, cans, marks."""
    label, name, amount, marks = _columns(page)
    top, height = page.y_mm, _row_height(page, pot)
    page.box(0.5, top + 2.0, TICK_MM - 1.0, TICK_MM - 1.0, 0.8)
    page.box(TICK_MM + GAP_MM, top + 1.0, FRAME_MM, page.row_mm - 2.0, 0.2)
    page.pdf.set_y(top + 1.5)
    page.text(pot.label, _label_pt(page, pot), "B", label, LABEL_MM)
    page.pdf.set_y(top + 1.5)
    page.text(pot.name, page.name_pt, "", name, amount - name - GAP_MM)
    below = page.y_mm
    page.pdf.set_y(top + 1.0)
    page.text(litres(pot.litres, page.sheet.us), 20.0, "B", amount, LITRES_MM)
    cans = _cans(page.sheet, pot)
    if cans:
        page.text(cans, 10.0, "", amount, LITRES_MM)
    if pot.only_if:
        page.pdf.set_y(max(below, page.y_mm))
        page.text(f"Only if {pot.only_if}.", 12.0, "I", name, marks - name)
    for i, letter in enumerate(pot.mark):
        page.box(marks + 0.5 + 7.2 * i, top + 2.0, 6.6, 6.6)
        page.pdf.set_xy(page.left_mm + marks + 0.5 + 7.2 * i, top + 2.0)
        page.style(13.0, "B")
        page.pdf.cell(6.6, 6.6, letter, align="C")
    page.pdf.set_y(top + height)
    page.rule(0.2)


def _warning(page: _Page) -> None:
    """Before a list: what is to be left alone on other days."""
    alone = says.left_alone_short(page.sheet)
    if alone:
        page.text(alone, 11.0, "B")
        page.down(2.0)


def _foot(page: _Page) -> None:
    """Below a list, as far as there is room: what the first page says of heat, rain, trouble."""
    sheet = page.sheet
    page.down(1.5)
    for line in (sheet.hot_rule, sheet.rain_rule, *says.trouble(sheet)):
        if line and page.fits(page.height(line, page.width_mm, 11.0) + 1.0):
            page.text(line, 11.0)
            page.down(0.8)


# --- all visits in one table -------------------------------------------------------------


def _table(page: _Page, visits: Sequence[SheetVisit]) -> None:
    pots = {pot.label: pot for visit in visits for pot in visit.pots}
    given = [{pot.label: pot for pot in visit.pots} for visit in visits]
    first = page.pdf.pages_count + 1
    page.turn(lambda: _table_head(page, visits, page.pdf.page == first))
    turn = {label: i for i, label in enumerate(page.sheet.order)}
    walked = sorted(pots.values(), key=lambda pot: turn.get(pot.label, len(turn)))
    for place, those in says.benches(sorted_by_place(walked)):
        title = place[:1].upper() + place[1:]
        page.room(10.0 + _line_height(page, those[0]))
        page.bar(title, "")
        for pot in those:
            if page.room(_line_height(page, pot)):
                page.bar(f"{title}, continued", "")
            _line(page, pot, [each.get(pot.label) for each in given])
    _foot(page)


def _table_head(page: _Page, visits: Sequence[SheetVisit], warn: bool) -> None:
    page.text(says.HOW_SHORT, 11.0, "I")
    if warn:
        _warning(page)
    top = page.y_mm + 1.0
    page.style(13.0, "B")
    for i, visit in enumerate(visits):
        here = visit.at.astimezone(page.sheet.zone)
        for j, words in enumerate((f"{here:%a}", f"{here.day} {here:%b}", f"{here:%H:%M}")):
            page.pdf.set_xy(page.left_mm + TREE_MM + i * VISIT_MM, top + 5.5 * j)
            page.pdf.cell(VISIT_MM, 5.5, words, align="C")
    page.pdf.set_y(top + 17.5)


def sorted_by_place(pots: Sequence[SheetPot]) -> list[SheetPot]:
    """Bring pots of one place together, places in the order in which they first come."""
    order = {place: i for i, place in reversed(list(enumerate(pot.place for pot in pots)))}
    return sorted(pots, key=lambda pot: order[pot.place])


def _line_height(page: _Page, pot: SheetPot) -> float:
    words = _line_words(pot)
    return max(page.height(words, TREE_MM - GAP_MM, 11.5, "B") + 2.5, CELL_MM)


def _line_words(pot: SheetPot) -> str:
    marks = f" [{pot.mark}]" if pot.mark else ""
    only = f"; only if {pot.only_if}" if pot.only_if else ""
    return f"{pot.label}  {pot.name}{marks}{only}"


def _line(page: _Page, pot: SheetPot, given: Sequence[SheetPot | None]) -> None:
    """One tree: its name, and a box and litres under each visit that waters it."""
    top, height = page.y_mm, _line_height(page, pot)
    page.pdf.set_y(top + 1.2)
    page.text(_line_words(pot), 11.5, "B", 0.0, TREE_MM - GAP_MM)
    for i, each in enumerate(given):
        if each is not None:
            x_mm = TREE_MM + i * VISIT_MM
            page.box(x_mm + 0.5, top + 2.2, 5.5, 5.5)
            page.pdf.set_xy(page.left_mm + x_mm + 6.0, top + 2.5)
            page.style(11.0, "B")
            page.pdf.cell(VISIT_MM - 6.0, 5.5, litres(each.litres, page.sheet.us))
    page.pdf.set_y(top + height)
    page.rule(0.2)
