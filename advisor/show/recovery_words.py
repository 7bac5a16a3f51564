"""The recovering trees in words: the list, the page of one, and both for scripts."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Any, Final
from zoneinfo import ZoneInfo

from advisor.jobs.judge import SURE, Reached, Spread
from advisor.jobs.recovering import Cycle, Page, State
from advisor.jobs.recovery import NO_TARGET_UNDER_MM
from advisor.jobs.threats import MOST_D, Frosts, Threat, Tip
from advisor.show.moments import clock, dated, day, litres, moment, percent

CAUTION: Final = "Estimates, not orders: the tree and the finger decide."
NONE: Final = "No tree recovers from repotting now."
HEADER: Final = ("tree", "name", "place", "day", "ends", "back", "kept", "target_mm", "dry_low_mm",
                 "dry_mid_mm", "dry_high_mm", "left_mid", "reaches_low", "reaches_mid",
                 "reaches_high")
#: How a recovering tree is kept: the words of the JSON, and those of the screen.
KEPT: Final = {"dry": "kept on the dry side", "later": "watered a little later than usual",
               "damp": "kept evenly damp", "coming back": "coming back to normal keeping"}


def kept(state: State, at: datetime) -> str:
    """Say how a tree is kept at an instant: a key of KEPT."""
    if at >= state.recovery.ends:
        return "coming back"
    if not state.recovery.dry:
        return "damp"
    return "later" if state.recovery.target_mm is None else "dry"


# --- text --------------------------------------------------------------------------------------


def list_text(states: Sequence[State], at: datetime, zone: ZoneInfo) -> str:
    """Say which trees recover: a line each on where it stands and when it reaches its depth."""
    if not states:
        return NONE
    lines = []
    for state in states:
        lines.append(_title(state, at, zone))
        lines += [f"    {line}" for line in (_dry(state, at), _reaches(state, at, zone)) if line]
    return "\n".join([*lines, "", CAUTION])


def page_text(page: Page, zone: ZoneInfo) -> str:
    """Say everything about one recovering tree."""
    state, at = page.state, page.at
    said = [_dry(state, at), _reaches(state, at, zone), _cycles(page.cycles, state, at, zone),
            demand(page), ends(page, zone)]
    days = max((page.foreseen_to - at).days, 1)
    guarded = [threat(each, at, zone) for each in page.threats] or ["nothing"]
    guarded += [frost(page.frosts, at, zone)] if at < state.recovery.ends else []
    return "\n".join([
        _title(state, at, zone), *(f"  {line}" for line in said if line), "",
        f"What threatens it in the {days} days foreseen:",
        *(f"  {line}" for line in guarded), "", CAUTION])


def _title(state: State, at: datetime, zone: ZoneInfo) -> str:
    tree, recovery = state.tree, state.recovery
    where = f", {state.place.name}" if state.place else ""
    when = (f"day {recovery.day(at, zone)} after repotting, {_left(recovery.ends - at)} left"
            if at < recovery.ends else f"recovery ended {day(recovery.ends, at, zone)}")
    return f"{tree.label}  {tree.name or tree.group}{where}: {when}, {KEPT[kept(state, at)]}"


def _dry(state: State, at: datetime) -> str:
    """Say how deep it is dry."""
    dry, target = state.dry_mm, state.recovery.target_mm
    depth = f"dry to {dry.mid:.0f} mm"
    if kept(state, at) == "dry" and target is not None:
        depth = f"dry to {dry.mid:.0f} of {target:.0f} mm"
    return (f"{depth} ({dry.low:.0f} to {dry.high:.0f} mm; the soil is {state.soil_depth_mm:.0f} "
            f"mm deep), {percent(max(state.left.mid, 0.0))} of its water left")


def _reaches(state: State, at: datetime, zone: ZoneInfo) -> str:
    """Say when it reaches its target, or why it has none."""
    how, reached = kept(state, at), state.reaches
    if how == "damp":
        return ("only evergreen conifers wait to dry: broad-leaved trees and larches are kept "
                "evenly damp")
    if how == "later":
        return (f"under {NO_TARGET_UNDER_MM:.0f} mm of soil nothing dries on top alone: it is "
                "judged by the water left")
    if how == "coming back" or reached is None:
        return ""
    if state.before is not None:
        when = "now" if state.before <= at else moment(state.before, at, zone)
        return (f"the soil its roots are in wants water {when}; by these figures, undisturbed, it "
                f"{_depth(reached, at, zone)}")
    return _depth(reached, at, zone)


def _depth(reached: Reached, at: datetime, zone: ZoneInfo) -> str:
    if reached.mid is None:
        early = f"; {moment(reached.low, at, zone)} at the earliest" if reached.low else ""
        return f"does not dry to its depth in the days foreseen{early}"
    hour = timedelta(hours=1)
    if reached.mid < at + hour:
        return "has likely dried to its depth"
    early, late = (moment(each, at, zone) if each else "" for each in (reached.low, reached.high))
    if reached.low and reached.low < at + hour:
        early = "now"
    says = [f"{early} at the earliest" if early else "",
            f"{late} at the latest" if late else "perhaps not in the days foreseen"]
    return f"reaches its depth {moment(reached.mid, at, zone)} ({', '.join(filter(None, says))})"


def _cycles(done: Sequence[Cycle], state: State, at: datetime, zone: ZoneInfo) -> str:
    """Say how often it has dried and was watered."""
    if state.recovery.target_mm is None:
        return ""
    if not done:
        return "not yet dried to its depth and watered since repotting"
    times = {1: "once", 2: "twice"}.get(len(done), f"{len(done)} times")
    last = done[-1]
    return (f"dried to its depth and was watered {times} since repotting: last dry "
            f"{dated(last.dried, at, zone)}, watered {dated(last.watered, at, zone)}")


def demand(page: Page) -> str:
    """Say what it drinks beside before, and how warm it was since."""
    return (f"drinks {percent(page.demand_share)} of what it drank before its roots were worked; "
            f"{page.warmth_cd:.0f} degree-days of root growth since")


def ends(page: Page, zone: ZoneInfo) -> str:
    """Say when it ends and how it comes back to normal keeping."""
    state, at = page.state, page.at
    until, usual = day(state.back, at, zone), percent(page.limit_usual)
    if at >= state.recovery.ends:
        return (f"comes back to normal keeping until {until}: then it is watered at {usual} of "
                "its water left")
    says = f"ends {day(state.recovery.ends, at, zone)}"
    if not state.recovery.dry:
        return f"{says}; it is watered at {usual} of its water left, before and after"
    return (f"{says}, then comes back within a week: watered at {percent(page.limit_after)} of "
            f"its water left at first, at {usual} from {until}")


def _left(span: timedelta) -> str:
    return {0: "less than a day", 1: "1 day"}.get(span.days, f"{span.days} days")


def threat(each: Threat, at: datetime, zone: ZoneInfo) -> str:
    """Say one thing to guard it against, and how."""
    start, end = clock(each.start, at, zone), dated(each.end, at, zone)
    start = "now" if each.start <= at else start
    if each.kind == "rain":
        back = ("for weeks" if each.back_d >= MOST_D else
                f"by about {max(round(each.back_d), 1)} day{'s' * (round(each.back_d) > 1)}")
        sure = "all but certain" if each.chance >= SURE else f"{percent(each.chance)} sure"
        return (f"keep the rain off from {start} to {end}: {each.amount:.0f} mm could reach its "
                f"soil and put its drying back {back} ({sure}){_tip(each.tip)}")
    return {
        "frost": f"bring it in from {start} to {end}: down to {each.amount:.0f} °C, and few roots",
        "heat": f"shade it from {start} to {end}: {each.amount:.0f} °C, and few roots",
        "wind": f"shelter it from the wind from {start} to {end}: up to {each.amount:.0f} m/s "
                "where it stands, which dries the crown and rocks the roots",
    }[each.kind]


def _tip(tip: Tip | None) -> str:
    if tip is None:
        return ""
    return (f"; or tip the pot {tip.angle_deg:.0f}° on a long edge: it then holds "
            f"{litres(tip.drains_l)} less of its {litres(tip.holds_l)}")


def frost(found: Frosts | None, at: datetime, zone: ZoneInfo) -> str:
    """Say what past years tell of frost before it ends."""
    if found is None:
        return ("frost before it ends: not known, no past year of these days is in store "
                "(advisor weather past)")
    if found.earliest is None or found.middle is None:
        return f"frost before it ends: in none of {_years(found.years)}"
    first, middle = (_date(each, at, zone) for each in (found.earliest, found.middle))
    half = f", half of them by {middle}" if found.with_frost > 1 else ""
    return (f"frost before it ends: in {found.with_frost} of {_years(found.years)}, {first} at "
            f"the earliest{half}")


def _years(count: int) -> str:
    return "the one past year in store" if count == 1 else f"{count} past years"


def _date(each: Any, at: datetime, zone: ZoneInfo) -> str:
    return day(datetime(each.year, each.month, each.day, 12, tzinfo=zone), at, zone)


# --- scripts -----------------------------------------------------------------------------------


def list_document(states: Iterable[State], at: datetime, zone: ZoneInfo) -> dict[str, Any]:
    """Give the recovering trees for scripts."""
    return {"trees": [_state(state, at, zone) for state in states]}


def page_document(page: Page, zone: ZoneInfo) -> dict[str, Any]:
    """Give everything about one recovering tree for scripts, with the sentences of the text."""
    at = page.at
    found = page.frosts
    return {"trees": [_state(page.state, at, zone) | {
        "cycles": [{"dried": _iso(each.dried, zone), "watered": _iso(each.watered, zone)}
                   for each in page.cycles],
        "demand_share": round(page.demand_share, 3),
        "degree_days": round(page.warmth_cd, 1),
        "days_left": max((page.state.recovery.ends - at).days, 0),
        "limit_after": round(page.limit_after, 3), "limit_usual": round(page.limit_usual, 3),
        "why": [demand(page), ends(page, zone)],
        "threats": [{
            "kind": each.kind, "from": _iso(each.start, zone), "until": _iso(each.end, zone),
            "amount": round(each.amount, 1), "chance": round(each.chance, 3),
            "back_days": round(each.back_d, 1) if each.kind == "rain" else None,
            "tip_deg": each.tip.angle_deg if each.tip else None,
            "tip_drains_l": round(each.tip.drains_l, 3) if each.tip else None,
            "why": threat(each, at, zone)} for each in page.threats],
        "frost": None if found is None else {
            "years": found.years, "with_frost": found.with_frost,
            "earliest": found.earliest and found.earliest.isoformat(),
            "middle": found.middle and found.middle.isoformat(),
            "why": frost(found, at, zone)},
    }]}


def list_rows(states: Iterable[State], at: datetime, zone: ZoneInfo) -> list[list[Any]]:
    """Give the recovering trees as rows of a spreadsheet, in the order of HEADER."""
    rows = []
    for state in states:
        told = _state(state, at, zone)
        dry, reached = told["dry_depth_mm"], told["reaches_target"] or {}
        rows.append([*(told[name] for name in HEADER[:8]), dry["low"], dry["mid"], dry["high"],
                     told["available_left"]["mid"],
                     *(reached.get(name) for name in ("low", "mid", "high"))])
    return rows


def _state(state: State, at: datetime, zone: ZoneInfo) -> dict[str, Any]:
    recovery, reached = state.recovery, state.reaches
    return {
        "tree": state.tree.label, "name": state.tree.name or None,
        "place": state.place.name if state.place else None,
        "day": recovery.day(at, zone), "ends": _iso(recovery.ends, zone),
        "back": _iso(state.back, zone), "kept": kept(state, at), "target_mm": recovery.target_mm,
        "soil_depth_mm": round(state.soil_depth_mm, 1),
        "dry_depth_mm": _spread(state.dry_mm, 1), "available_left": _spread(state.left, 3),
        "reaches_target": None if reached is None else {
            name: _iso(getattr(reached, name), zone) for name in ("low", "mid", "high")},
    }


def _spread(spread: Spread, digits: int) -> dict[str, float]:
    return {"low": round(spread.low, digits), "mid": round(spread.mid, digits),
            "high": round(spread.high, digits)}


def _iso(at: datetime | None, zone: ZoneInfo) -> str | None:
    return None if at is None else at.astimezone(zone).isoformat(timespec="seconds")
