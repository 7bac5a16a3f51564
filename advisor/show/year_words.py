"""The season behind as a plain table: in words, for scripts, for a spreadsheet."""

from collections.abc import Sequence
from typing import Any, Final

from advisor.jobs.year import Dry, Learned, TreeYear
from advisor.show.moments import percent

HEADER: Final = ("tree", "place", "days", "waterings", "poured_l", "drunk_l", "rain_l",
                 "days_told", "driest_day", "driest_left", "days_past_limit", "days_past_harm",
                 "thirst_low", "thirst_mid", "thirst_high")
ROUNDED: Final = 2


def year_text(year: int, trees: Sequence[TreeYear], names: dict[str, str]) -> str:
    """Give the year as a table in words.

    Parameters
    ----------
    year : int
    trees : sequence of TreeYear
        In walking order.
    names : dict
        How each tree is called, by label.
    """
    wide = max([len(names[each.label]) for each in trees] + [4])
    lines = [f"{year}: what was given and drunk, litres", "",
             f"{'tree':<{wide}}  {'days':>4} {'entered':>8} {'poured':>7} {'drunk':>6} "
             f"{'rain':>6} {'told':>5} {'wanted':>7} {'harmed':>7}  driest"]
    for each in trees:
        lines.append(
            f"{names[each.label]:<{wide}}  {each.days:4d} {each.waterings:8d} "
            f"{each.poured_l:7.0f} {each.drunk_l:6.0f} {each.rain_l:6.0f} "
            f"{each.days_told:5d} {each.days_past_limit:7d} {each.days_past_harm:7d}  "
            + (_dry(each.driest[0]) if each.driest else "-"))
    total = [sum(getattr(each, name) for each in trees)
             for name in ("poured_l", "drunk_l", "rain_l")]
    lines.append(f"{'all':<{wide}}  {'':4} {sum(each.waterings for each in trees):8d} "
                 f"{total[0]:7.0f} {total[1]:6.0f} {total[2]:6.0f}")
    learned = [f"{names[each.label]}: {_thirst(each.learned)}" for each in trees if each.learned]
    lines += ["", *(["What your readings told of their thirst:", *learned] if learned else
                    ["Nothing was read of any tree: what each drinks is that of its kind."])]
    lines += ["", "entered: waterings as entered. poured: what the soil took and a little that "
              "runs through, likely waterings on days without an entry among it. drunk: what left "
              "through leaves and soil. rain: what reached the soil. told: days within "
              "three of a watering or walk entered; only of these wanted and harmed count the days "
              "on which it likely wanted water, or suffered.",
              "Estimates, not orders: the tree and the finger decide."]
    return "\n".join(lines)


def _dry(driest: Dry) -> str:
    return f"{percent(driest.left)} on {driest.day.day} {driest.day:%b}"


def _thirst(learned: Learned) -> str:
    more = round(100 * (learned.mid - 1.0))
    beside = "about as much as its kind" if more == 0 else (
        f"{abs(more)} % {'more' if more > 0 else 'less'} than its kind")
    return f"{beside} ({percent(learned.low)} to {percent(learned.high)} of it)"


def year_document(year: int, trees: Sequence[TreeYear]) -> dict[str, Any]:
    """Give the year for scripts."""
    return {"year": year, "trees": [{
        "tree": each.label, "place": each.place, "days": each.days, "waterings": each.waterings,
        "poured_l": round(each.poured_l, ROUNDED), "drunk_l": round(each.drunk_l, ROUNDED),
        "rain_l": round(each.rain_l, ROUNDED), "days_told": each.days_told,
        "days_past_limit": each.days_past_limit,
        "days_past_harm": each.days_past_harm,
        "driest": [{"day": dry.day.isoformat(), "left": round(dry.left, 3)}
                   for dry in each.driest],
        "month_l": [round(float(litres), ROUNDED) for litres in each.month_l],
        "thirst": None if each.learned is None else {
            "low": each.learned.low, "mid": each.learned.mid, "high": each.learned.high},
    } for each in trees]}


def year_rows(trees: Sequence[TreeYear]) -> list[list[Any]]:
    """Give the year as rows of a spreadsheet, in the order of HEADER."""
    return [[each.label, each.place, each.days, each.waterings, round(each.poured_l, ROUNDED),
             round(each.drunk_l, ROUNDED), round(each.rain_l, ROUNDED),
             each.days_told,
             *((each.driest[0].day.isoformat(), round(each.driest[0].left, 3)) if each.driest
               else (None, None)),
             each.days_past_limit, each.days_past_harm,
             *((None, None, None) if each.learned is None else
               (round(value, 3) for value in (each.learned.low, each.learned.mid,
                                              each.learned.high)))]
            for each in trees]
