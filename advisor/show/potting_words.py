"""Choices of pot and mix side by side: as a table in words, and for scripts."""

import math
from collections.abc import Callable, Sequence
from dataclasses import asdict
from typing import Any, Final

from advisor.garden.instants import MONTHS
from advisor.garden.records import WEEKDAYS, Rounds
from advisor.jobs.potting.compare import Compared, Interval, Outcome
from advisor.jobs.potting.window import Week, Window
from advisor.show.moments import percent

WIDTH: Final = 15  # of a column
LABEL: Final = 44  # of the names of the rows
CAUTION: Final = "Estimates, not orders: the tree and the finger decide."
Cell = Callable[[Outcome], str]


def compared_text(title: str, compared: Compared) -> str:
    """Give choices as a table, what each row means, and what moves the result most.

    Parameters
    ----------
    title : str
        Which tree, and where it stands.
    compared : Compared
    """
    numbered = [f"{i}  {each.choice.words}" for i, each in enumerate(compared.outcomes, 1)]
    head = " " * LABEL + "".join(f"{i:>{WIDTH}}" for i in range(1, len(numbered) + 1))
    rows = [f"{label:<{LABEL}}" + "".join(f"{cell(each):>{WIDTH}}" for each in compared.outcomes)
            for label, cell in _rows(compared)]
    years = f"{compared.years:.0f} years" if compared.years >= 1.5 else "one year"
    return "\n".join([f"{title}: over {years} of weather at its place", "", *numbered, "", head,
                      *rows, "", *_notes(compared), CAUTION])


def _rows(compared: Compared) -> list[tuple[str, Cell]]:
    warm, month = compared.warm_month, compared.repot_month
    return [
        ("Soil", lambda o: _litres(o.holds.soil_l)),
        ("Soil depth", lambda o: f"{o.holds.soil_depth_mm:.0f} mm"),
        ("Water held after watering", lambda o: _litres(o.holds.held_l)),
        ("of it for the tree", lambda o: _litres(o.holds.available_l)),
        ("Air after watering", lambda o: percent(o.holds.air_share)),
        ("Base too wet for roots, up to", lambda o: f"{o.holds.wet_base_mm:.0f} mm"),
        ("Weight of the soil, dry and wet",
         lambda o: f"{o.holds.dry_kg:.1f}, {o.holds.wet_kg:.1f} kg"),
        (f"Days between waterings, {MONTHS[warm - 1]}", lambda o: _interval(o.months[warm - 1])),
        (f"Days between waterings, {MONTHS[month - 1]}", lambda o: _interval(o.months[month - 1])),
        ("Waterings a year", lambda o: f"{o.waterings:.0f}"),
        (f"Days that want two waterings, {MONTHS[warm - 1]}", lambda o: percent(o.twice_share)),
        ("Water poured a year", lambda o: f"{o.litres:.0f} L"),
        (f"Days to dry to its target, {MONTHS[month - 1]}", _to_target),
        ("One round a day: days a year it suffers", lambda o: f"{o.harm_days:.0f}"),
        ("chance of it in a year", lambda o: percent(o.harm_chance)),
        ("Would do with about one round a day", lambda o: "yes" if o.would_do else "no"),
    ]


def _litres(litres: float) -> str:
    return f"{litres:.1f} L" if litres >= 1.0 else f"{litres:.2f} L"


def _interval(interval: Interval | None) -> str:
    return "none" if interval is None else f"{interval.median_d:.1f} ({interval.tenth_d:.1f})"


def _to_target(outcome: Outcome) -> str:
    if outcome.to_target_d is None:
        return "no target" if outcome.target_mm is None else "not known"
    low, mid, high = (f"{day:.0f}" if math.isfinite(day) else "never"
                      for day in outcome.to_target_d)
    return f"{mid} ({low} to {high})"


def _notes(compared: Compared) -> list[str]:
    warm = MONTHS[compared.warm_month - 1]
    notes = ["The tree is taken as settled in each pot and watered until it runs; pot and "
             "drainage layer are not weighed. In brackets behind days between waterings: one "
             "in ten is shorter.",
             _rounds_note(compared),
             "One round a day: every day at the first of these times whatever is not full is "
             "filled; where that does not last until the next, the day wants two waterings."]
    targets = {f"{each.target_mm:.0f} mm in {i}" for i, each in enumerate(compared.outcomes, 1)
               if each.to_target_d is not None and each.target_mm is not None}
    if targets:
        notes.append("Days to dry to its target: after repotting on the 15th, rain kept off; the "
                     f"target is {', '.join(sorted(targets, key=lambda t: t.split()[-1]))}.")
    for i, each in enumerate(compared.outcomes, 1):
        without = each.holds.held_without_drainage_l
        if without is not None:
            notes.append(f"Without its drainage layer {i} would hold {_litres(without)}, with it "
                         f"{_litres(each.holds.held_l)}.")
    moved = "; ".join(f"{each.what}, {each.low_d:.1f} to {each.high_d:.1f}"
                      for each in compared.moves)
    notes.append(f"What moves days between waterings of 1 in {warm}, the most first: {moved}.")
    return notes


def _rounds_note(compared: Compared) -> str:
    rounds = "; ".join(_round_words(each) for each in compared.rounds)
    whose = "your own" if compared.own_rounds else (
        "those of a garden that tells no others (advisor rounds)")
    return f"Watered at round times, {whose}: {rounds}."


def _round_words(told: Rounds) -> str:
    days = "" if told.weekdays == WEEKDAYS else f" on {', '.join(told.weekdays)}"
    return f"{told.season} {', '.join(told.times)}{days}"


def compared_document(tree: str, place: str | None, compared: Compared) -> dict[str, Any]:
    """Give choices for scripts."""
    return {
        "tree": tree, "place": place, "years": round(compared.years, 2),
        "warmest_month": compared.warm_month, "repotting_month": compared.repot_month,
        "choices": [_document(each) for each in compared.outcomes],
        "moves": [asdict(each) for each in compared.moves],
        "own_rounds": compared.own_rounds, "rounds": [
            {"season": each.season, "times": list(each.times), "days": list(each.weekdays)}
            for each in compared.rounds],
    }


def _document(outcome: Outcome) -> dict[str, Any]:
    target = outcome.to_target_d
    days = None if target is None else {
        name: round(day, 1) if math.isfinite(day) else None
        for name, day in zip(("low", "mid", "high"), target, strict=True)}
    return {
        "choice": outcome.choice.words, **asdict(outcome.holds),
        "days_between": [None if each is None else asdict(each) for each in outcome.months],
        "waterings_a_year": outcome.waterings, "litres_a_year": outcome.litres,
        "two_waterings_share": outcome.twice_share,
        "once_a_day": {"harm_chance": outcome.harm_chance, "harm_days": outcome.harm_days},
        "target_mm": outcome.target_mm, "days_to_target": days, "would_do": outcome.would_do,
        "profile": [{"height_mm": round(float(h), 1), "water": round(float(w), 4)}
                    for h, w in zip(outcome.height_mm, outcome.wet, strict=True)],
    }


def compared_rows(compared: Compared) -> tuple[list[str], list[list[Any]]]:
    """Give choices as a table for a spreadsheet: header and rows."""
    flat = [_document(each) for each in compared.outcomes]
    names = [name for name, value in flat[0].items() if not isinstance(value, (list, dict))
             and name != "days_to_target"]
    header = [*names, "harm_days_once_a_day", "days_to_target_low", "days_to_target_mid",
              "days_to_target_high", *(f"days_between_{month.lower()}" for month in MONTHS)]
    rows = []
    for each in flat:
        target = each["days_to_target"] or {}
        rows.append([*(each[name] for name in names), each["once_a_day"]["harm_days"],
                     *(target.get(name) for name in ("low", "mid", "high")),
                     *(month and month["median_d"] for month in each["days_between"])])
    return header, rows


# --- when --------------------------------------------------------------------------------


def windows_text(title: str, windows: Sequence[Window]) -> str:
    """Give the weeks in which it could be repotted, season by season, with their reasons."""
    lines = [title]
    for window in windows:
        years = f"{window.years} years" if window.years > 1 else "one year"
        lines += ["", f"{window.season.capitalize()} ({window.custom}), from {years}:",
                  f"  {_span(window)}"]
        lines += [f"  week of {_date(week):<13}{int(week.warm_weeks):3d} warm weeks ahead, "
                  f"{week.warmth_cd:4.0f} degree-days, {_frost(window, week)}"
                  + (f": {'; '.join(week.against)}" if week.against else "; would do")
                  for week in window.weeks]
    return "\n".join([*lines, "", "Warm weeks: of the half year ahead, at 10 °C or more. "
                      "Degree-days: above 6 °C in the eight weeks ahead.",
                      "Common practice, not an order: the buds of the tree decide."])


def _span(window: Window) -> str:
    if window.span is None:
        return "No week would do by common practice."
    first, last = window.span
    return f"Would do: from {_date(first)} to the week of {_date(last)}."


def _date(week: Week) -> str:
    return f"{week.day} {MONTHS[week.month - 1]}"


def _frost(window: Window, week: Week) -> str:
    kind = "hard frost" if window.season == "spring" else "frost"
    if window.years == 1:
        return kind if week.frost_chance else f"no {kind}"
    return f"{kind} in {week.frost_chance:.0%} of years"


def windows_document(tree: str, windows: Sequence[Window]) -> dict[str, Any]:
    """Give the weeks for scripts."""
    def told(week: Week) -> dict[str, Any]:
        return {"from": f"{week.month:02d}-{week.day:02d}", "warm_weeks": week.warm_weeks,
                "degree_days": week.warmth_cd, "frost_chance": week.frost_chance,
                "hot_days": week.hot_days, "against": list(week.against)}

    return {"tree": tree, "seasons": [
        {"season": window.season, "years": window.years, "custom": window.custom,
         "would_do": None if window.span is None else [told(week)["from"]
                                                       for week in window.span],
         "weeks": [told(week) for week in window.weeks]} for window in windows]}
