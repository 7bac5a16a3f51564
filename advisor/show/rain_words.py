"""The rain butt in words and for scripts."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any, Final

from advisor.garden.stock import RainButt, RainRoof
from advisor.jobs.rain.butts import COVERINGS, TURN_WORDS, Lasts, Sized, would_do
from advisor.jobs.rain.tap_water import NEVER_SOFTENED, Hardness
from advisor.show.moments import percent

CAUTION: Final = ("Stored rain water is not drinking water; keep butts covered, children safe. "
                  "Estimates, not orders.")
FEEDING: Final = ("grains damp after watering or rain, growth, two days ahead without much rain, "
                  "none within six weeks of repotting")
SHORT_DAYS: Final = 7  # within which it is called short


@dataclass(frozen=True)
class Butts:
    """What is said of the butts today.

    Attributes
    ----------
    roofs, butts : sequences
    level_l : (low, mid, high) or None
        None where no level was told.
    lasts : Lasts or None
    days_known : int
        Coming days that were looked at.
    a_day_l : float
        What the pots take a day in these days [L].
    today : sequence of (label, turn, litres, rain litres)
        Who takes how much today, and how much of it from the butt.
    rain_l : (low, mid, high)
        What the roofs bring in these days [L].
    hardness : Hardness or None
    feeding : sequence of (day, count of trees)
    trees : int
    turns : sequence of (turn, labels)
    """

    roofs: Sequence[RainRoof]
    butts: Sequence[RainButt]
    level_l: tuple[float, float, float] | None
    lasts: Lasts | None
    days_known: int
    a_day_l: float
    today: Sequence[tuple[str, int, float, float]]
    rain_l: tuple[float, float, float]
    hardness: Hardness | None
    feeding: Sequence[tuple[date, int]]
    trees: int
    turns: Sequence[tuple[int, Sequence[str]]]


def butts_text(told: Butts) -> str:
    """Give the state of the butts in words."""
    roofs = "; ".join(_roof(roof) for roof in told.roofs) or "none told"
    butts = "; ".join(f"{b.name} {b.litres:g} L" for b in told.butts) or "none told"
    lines = [f"Roofs: {roofs}.", f"Butts: {butts}."]
    lines.append(f"The pots take about {told.a_day_l:.0f} L a day in the coming "
                 f"{told.days_known} days; the roofs bring {_range(told.rain_l)} L in all.")
    if told.level_l is None:
        lines.append("No level told yet: advisor rainwater level.")
    else:
        lines.append(f"In the butts now: {_range(told.level_l)} L.")
    if told.lasts is not None:
        lines += [_lasting(told.lasts, told.days_known), *_short(told)]
    if told.turns:
        lines.append("Who gets rain water first (common practice): " + "; then ".join(
            f"{', '.join(labels)} ({TURN_WORDS[turn]})" for turn, labels in told.turns) + ".")
    if told.hardness is not None:
        lines.append(f"Tap water: {told.hardness.word}, {told.hardness.mmol:.1f} mmol/L. "
                     f"{told.hardness.note}")
    lines += [NEVER_SOFTENED, _feeding(told), CAUTION]
    return "\n".join(lines)


def _roof(roof: RainRoof) -> str:
    first = f", the first {roof.first_flush_mm:g} mm led away" if roof.first_flush_mm else ""
    return (f"{roof.name} {roof.area_m2:g} m² {roof.covering} "
            f"({COVERINGS[roof.covering].value:.0%} of the rain{first})")


def _range(litres: tuple[float, float, float]) -> str:
    low, mid, high = (f"{each:.0f}" for each in litres)
    return mid if low == high else f"{mid} ({low} to {high})"


def _lasting(lasts: Lasts, days: int) -> str:
    low, mid, high = (f"more than {days}" if each is None else f"{each}"
                      for each in (lasts.low, lasts.mid, lasts.high))
    spread = "" if low == high else f" ({low} to {high})"
    how_long = "It does not last today" if lasts.high == 0 else f"It lasts {mid} days{spread}"
    return (f"{how_long}; chance that it runs dry before it is full again: "
            f"{percent(lasts.dry_chance)}.")


def _short(told: Butts) -> list[str]:
    """Say who gets how much today where it will not last."""
    assert told.lasts is not None
    short = told.lasts.low is not None and told.lasts.low < SHORT_DAYS
    if not short or not told.today:
        return []
    tap = [f"{label} {litres - rain:.1f} L" for label, _, litres, rain in told.today
           if litres - rain > 0.05]
    if not tap:
        return ["Today it still does for all that want water; it runs short within the week."]
    return [f"It runs short: today from the tap {', '.join(tap)}; the rest from the butt."]


def _feeding(told: Butts) -> str:
    if not told.feeding:
        return f"Good feeding days: none in sight ({FEEDING})."
    days = ", ".join(f"{day:%a} {day.day} {day:%b} ({count} of {told.trees} trees)"
                     for day, count in told.feeding)
    return f"Good feeding days: {days}; {FEEDING}."


def butts_document(told: Butts) -> dict[str, Any]:
    """Give the state of the butts for scripts."""
    def spread(litres: tuple[float, float, float] | None) -> dict[str, float] | None:
        if litres is None:
            return None
        return dict(zip(("low", "mid", "high"), (round(each, 1) for each in litres), strict=True))

    return {
        "roofs": [{"name": r.name, "area_m2": r.area_m2, "covering": r.covering,
                   "first_flush_mm": r.first_flush_mm,
                   "run_off": COVERINGS[r.covering]._asdict()} for r in told.roofs],
        "butts": [{"name": b.name, "litres": b.litres, "height_mm": b.height_mm}
                  for b in told.butts],
        "level_l": spread(told.level_l), "lasts": None if told.lasts is None else
        asdict(told.lasts), "days": told.days_known, "taken_a_day_l": round(told.a_day_l, 2),
        "caught_l": spread(told.rain_l),
        "trees": [{"tree": label, "turn": turn, "litres": round(litres, 2),
                   "rain_litres": round(rain, 2)} for label, turn, litres, rain in told.today],
        "hardness_mmol": None if told.hardness is None else told.hardness.mmol,
        "feeding_days": [{"day": day.isoformat(), "trees": count} for day, count in told.feeding],
    }


def sizes_text(curve: Sequence[Sized], have_l: float) -> str:
    """Give what sizes of butt would have done in past years."""
    years = curve[0].years
    lines = [f"What butts of other sizes would have done in the past {years} years, each full on "
             "the first day:" if years > 1 else "What butts of other sizes would have done in the "
             "year of weather there is, each full on the first day:",
             f"{'litres':>8} {'of the water':>13} {'days short':>11} {'years it lasted':>16}"]
    lines += [f"{each.litres:8.0f} {percent(each.share_given):>13} {each.dry_days:11.0f} "
              f"{each.years_lasted:>9} of {each.years}"
              + ("   yours" if each.litres == have_l else "") for each in curve]
    enough = would_do(curve)
    often = "nine years in ten" if years > 1 else "the year"
    lines.append(f"{enough.litres:.0f} L would have lasted {often}." if enough else
                 f"None of these would have lasted {often}: roofs and pots do not match.")
    return "\n".join(lines)
