"""An absence in words: the plan, how sure it is, rules for the helper, what would save visits."""

from collections.abc import Iterator, Sequence
from typing import Final

from advisor.jobs.away.absence import minutes
from advisor.jobs.away.cover import Cover
from advisor.jobs.away.plan_case import (
    DAYS,
    LIFE,
    LITRES,
    MINUTES,
    REST,
    SAFETY,
    Impossible,
    Plan,
)
from advisor.jobs.away.remedies import Saved
from advisor.jobs.away.replay import Risk
from advisor.jobs.away.signs import HotRule, RainRule, Tested
from advisor.jobs.away.sky import ENOUGH_YEARS
from advisor.show.lists import listed
from advisor.show.moments import dated, day, depth, litres, percent, rain
from advisor.show.sheet import Sheet, SheetPot, SheetVisit, benches, visit_amount

MOST_NAMED: Final = 12
LEAST_TOLD: Final = 0.05  # visits an absence: fewer would read 0.0
C_TO_F: Final = (1.8, 32.0)  # degrees Fahrenheit, by definition
STOPPED: Final = "Stopped early: not everything was worked out."
ESTIMATES: Final = "Estimates, not orders: the tree and the finger decide."
_WHY: Final = {
    LIFE: "cannot be kept even with a visit a day",
    DAYS: "cannot be kept with the days on which somebody can come",
    REST: "are kept on the dry side and may not be watered in time",
    SAFETY: "can be kept each alone, but not all of them as safely as asked",
    MINUTES: "take longer than a visit may",
    LITRES: "take more water than can be carried in a visit",
}


def named(labels: Sequence[str], most: int = MOST_NAMED) -> str:
    """Give labels in a line: "3", "3 and 11", "3, 7 and 4 more"."""
    shown = list(labels)
    if len(shown) > most:
        shown = [*shown[:most - 1], f"{len(labels) - most + 1} more"]
    return listed(shown)


def counted(count: int, what: str) -> str:
    """Give "1 visit", "3 visits"."""
    return f"{count} {what}{'s' if count != 1 else ''}"


# --- the sheet --------------------------------------------------------------------------------


def sheet_of(cover: Cover, phone: str | None = None, us: bool = False) -> Sheet:
    """Put the helper's sheet together.

    Parameters
    ----------
    cover : Cover
        With a plan.
    phone : str, optional
    us : bool
        US gallons and inches.
    """
    left, plan = cover.left, cover.plan
    assert isinstance(plan, Plan)
    zone = left.span.told.sky.zone
    amounts = left.visit_l(plan)
    visits = tuple(SheetVisit(
        left.ask.visit_at(visit.day, zone),
        tuple(_pot(cover, i, visit.day, amount, us) for i, amount in
              zip(visit.trees, poured, strict=True)),
        minutes(poured, left.ask.can_l)) for visit, poured in zip(plan.visits, amounts,
                                                                  strict=True))
    recovering = tuple(_pot(cover, i, 0, 0.0, us) for i, kept in enumerate(left.kept)
                       if kept.floor_until)
    return Sheet("", left.span.told.sky.instant(int(left.span.at_h[0])),
                 left.ask.visit_at(left.ask.end, zone), zone, visits, left.ask.can_l,
                 hot_words(cover.hot, us) if cover.hot else None,
                 rain_words(cover.rain, us) if cover.rain else None, recovering, phone, us,
                 tuple(left.labels))


def _pot(cover: Cover, i: int, turn: int, amount_l: float, us: bool) -> SheetPot:
    left = cover.left
    kept, told = left.kept[i], left.span.told
    place = told.knowledge.place_of(kept.label, told.at)
    tree = told.knowledge.trees[kept.label]
    mark = ("B" if cover.hot and kept.label in cover.hot.labels else "") + (
        "R" if cover.rain and kept.label in cover.rain.labels else "")
    return SheetPot(kept.label, tree.name or tree.group, place.name if place else "", amount_l,
                    _only_if(cover, i, turn, us), mark)


def _only_if(cover: Cover, i: int, turn: int, us: bool) -> str | None:
    """Say what the helper looks at first; a tree kept dry is watered only once it is."""
    span, kept = cover.left.span, cover.left.kept[i]
    if not turn or int(span.at_h[turn]) >= kept.floor_until:
        return None
    target = kept.model.dry_target_mm(span.told.sky.instant(int(span.at_h[0])))
    top = depth(target or 0.0, us) if us else f"{(target or 0.0) / 10.0:.0f} cm"
    return f"the top {top} are dry, or the pot is light"


def hot_words(rule: HotRule, us: bool = False) -> str:
    """Say when to come unasked, and what to water then."""
    heat = "" if rule.over_c is None else (
        f"over {rule.over_c * C_TO_F[0] + C_TO_F[1]:.0f} °F" if us else f"over {rule.over_c} °C")
    washing = "washing on the line dries within the hour" if rule.washing else ""
    joined = f"{heat} on which {washing}" if rule.both else f"{heat}, or one on which {washing}"
    sign = joined if heat and washing else heat or f"on which {washing}"
    return (f"On a day {sign}, with no visit planned: come that evening and water the pots "
            f"marked B ({named(rule.labels, 40)}).")


def rain_words(rule: RainRule, us: bool = False) -> str:
    """Say how much rain spares which pots a watering."""
    return (f"If the gauge shows over {rain(rule.over_mm, us)} since the last visit, skip the "
            f"pots marked R ({named(rule.labels)}). Empty the gauge at each visit.")


# --- the text --------------------------------------------------------------------------------


def away_text(cover: Cover, us: bool = False) -> str:
    """Say an absence as a plain text.

    Parameters
    ----------
    cover : Cover
    us : bool
        US gallons and inches.
    """
    plan, lines = cover.plan, _unknown(cover)
    if isinstance(plan, Impossible):
        lines += [*_impossible(cover, plan), *_saves(cover, "What would mend it")]
    else:
        lines += [*_head(cover, plan), "", *_visits(cover, us), *_sure(cover, plan),
                 *_rules(cover, us), *_saves(cover, "What would save visits")]
    if not cover.whole and not cover.unknown:
        lines += ["", STOPPED]
    return "\n".join([*lines, "", *_rests_on(cover), ESTIMATES])


def _unknown(cover: Cover) -> list[str]:
    """Say which trees a plan made after an early stop leaves aside."""
    if not cover.unknown:
        return []
    rest = counted(len(cover.unknown), "tree")
    return [f"Stopped early: how long {rest} would last was not worked out yet "
            f"({named(cover.unknown)}). What follows is for the others alone: not a plan to leave "
            "with.", ""]


def _span(cover: Cover) -> str:
    left = cover.left
    sky = left.span.told.sky
    start = sky.instant(int(left.span.at_h[0]))
    return (f"{day(start, start, sky.zone)} to "
            f"{day(left.ask.visit_at(left.ask.end, sky.zone), start, sky.zone)}")


def _head(cover: Cover, plan: Plan) -> Iterator[str]:
    visits = counted(len(plan.visits), "visit") if plan.visits else "no visit"
    verb = "keeps" if len(plan.visits) < 2 else "keep"
    more = ("" if plan.proven else
            f" It may be {counted(plan.at_most_more, 'visit')} more than the fewest.")
    trees = f"{len(cover.left.kept)} of the trees" if cover.unknown else "every tree"
    yield f"Away {_span(cover)}: {visits} {verb} {trees}.{more}"
    yield leaving_words(cover)


def leaving_words(cover: Cover) -> str:
    """Say what the plan takes for granted on the morning of leaving."""
    left = cover.left
    sky = left.span.told.sky
    start = sky.instant(int(left.span.at_h[0]))
    if not left.span.waters:
        return f"From {dated(start, start, sky.zone)} on, waterings up to then as entered."
    wet = [kept.label for kept in left.kept if kept.watered]
    if not wet:
        return f"Leaving on {dated(start, start, sky.zone)}: no pot needs water then."
    return (f"Before you leave, {dated(start, start, sky.zone)}, water what the round calls for: "
            f"likely {named(wet, 40)}.")


def _visits(cover: Cover, us: bool) -> Iterator[str]:
    sheet = sheet_of(cover, us=us)
    for visit in sheet.visits:
        yield f"{dated(visit.at, visit.at, sheet.zone)}: {visit_amount(sheet, visit)}"
        for place, pots in benches(visit.pots):
            yield f"  {place[:1].upper()}{place[1:]}: " + ", ".join(
                f"{pot.label} {litres(pot.litres, us)}" for pot in pots)
            for pot in pots:
                if pot.only_if:
                    yield f"    {pot.label} only if {pot.only_if}"


def _sure(cover: Cover, plan: Plan) -> Iterator[str]:
    left = cover.left
    sky = left.span.told.sky
    yield ""
    yield (f"How safe: in {percent(cover.reached)} of the ways the weather may go no tree suffers "
           f"({percent(left.ask.safety)} asked), each taken to drink more than four in five like "
           "it do.")
    if cover.years_harm is not None:
        yield (f"Under the same days of {counted(cover.away.years, 'past year')}: some tree "
               f"suffers in {percent(cover.years_harm)} of them.")
    worst = sorted((each for each in cover.risks if each.chance or each.years_harm),
                   key=lambda each: -max(each.chance, each.years_harm))
    for risk in worst[:MOST_NAMED]:
        yield f"  {_risk(cover, risk)}"
    wanting = [each.label for each in cover.risks
               if each.years_limit > 0.0 and not (each.chance or each.years_harm)]
    if wanting:
        yield f"Dry enough to want water at times, without harm: {named(wanting)}."
    if cover.matters is not None:
        at = left.ask.visit_at(plan.visits[cover.matters].day, sky.zone)
        yield f"The visit that matters most: {dated(at, at, sky.zone)}."


def _risk(cover: Cover, risk: Risk) -> str:
    name = cover.left.span.told.knowledge.trees[risk.label].name
    worst = f", worst around {risk.worst:%a} {risk.worst.day} {risk.worst:%b}" if risk.worst else ""
    past = (f", suffers in {percent(risk.years_harm)} of past years"
            if cover.years_harm is not None else "")
    return f"{risk.label} {name}".strip() + f": {percent(risk.chance)} chance{past}{worst}"


def _rules(cover: Cover, us: bool) -> Iterator[str]:
    if cover.hot is not None:
        yield ""
        yield hot_words(cover.hot, us)
        yield f"  {rule_worth(cover.hot)}"
    if cover.rain is not None:
        yield ""
        yield rain_words(cover.rain, us)
        yield (f"  {_tested(cover.rain.tested)} It spares {percent(cover.rain.spared)} of their "
               "waterings.")


def rule_worth(rule: HotRule) -> str:
    """Say what a rule for heat brought where it was tried, and what it costs."""
    more = f"about {rule.extra:.1f} more visits" if rule.extra >= LEAST_TOLD else (
        "hardly a visit more")
    return f"{_tested(rule.tested)} It costs {more} an absence."


def _tested(tested: Tested) -> str:
    tried = f"Found on even years, tried on {counted(tested.years, 'odd year')}"
    if not tested.harmed_without and not tested.harmed_with:
        return f"{tried}: none of these trees suffers then, with it or without."
    return (f"{tried}: some of these trees suffer in {percent(tested.harmed_without)} without it, "
            f"{percent(tested.harmed_with)} with it.")


def _saves(cover: Cover, title: str) -> Iterator[str]:
    if not cover.saves:
        return
    yield ""
    yield f"{title}:"
    for saved in cover.saves:
        yield f"  {saved_words(saved, cover.plan)}"


def saved_words(saved: Saved, plan: Plan | Impossible) -> str:
    """Say what a remedy brings: "6 trees to the north wall (3, 7): 9 visits become 5"."""
    trees = f"Tree {saved.trees[0]} {saved.remedy}" if len(saved.trees) == 1 else (
        f"{len(saved.trees)} trees {saved.remedy} ({named(saved.trees)})")
    if isinstance(plan, Plan):
        return f"{trees}: {counted(len(plan.visits), 'visit')} become {saved.visits}"
    if saved.visits is not None:
        return f"{trees}: {counted(saved.visits, 'visit')} then keep every tree"
    return f"{trees}: then {'it' if len(saved.trees) == 1 else 'they'} can be kept"


def _impossible(cover: Cover, why: Impossible) -> Iterator[str]:
    left = cover.left
    labels = [left.kept[i].label for i in why.trees]
    worst = left.ask.date(why.day)
    yield f"Away {_span(cover)}: no plan keeps every tree."
    if why.why in _WHY and labels:
        trees = f"{named(labels, 40)} ({counted(len(labels), 'tree')})"
        yield (f"{trees} {_one(_WHY[why.why], len(labels))}{_twice(cover, why)}: "
               f"harm by {worst:%a} {worst.day} "
               f"{worst:%b}, each taken to drink more than four in five like it do.")
    else:
        yield "Nothing was found in the time a search may take, nor shown to be impossible."
    if cover.others is not None:
        fewer = counted(len(cover.others.visits), "visit") if cover.others.visits else "no visit"
        verb = "keeps" if len(cover.others.visits) < 2 else "keep"
        yield (f"{fewer} {verb} the others. To plan for these, take the rest along or find "
               f"another to look after them, and add --without {','.join(labels)}")


def _twice(cover: Cover, why: Impossible) -> str:
    """Say on how many days one visit does not do."""
    short = cover.left.short_days(why.trees) if why.why == LIFE else 0
    if not short:
        return ""
    most = "up to " if len(why.trees) > 1 else ""
    days = counted(cover.left.span.end - 1, "day")
    return f" ({most}{short} of {days} want{'s' if short == 1 else ''} two)"


def _one(words: str, count: int) -> str:
    """Give words of several for one where there is one."""
    if count != 1:
        return words
    return words.replace("are kept", "is kept").replace("take ", "takes ", 1)


def _rests_on(cover: Cover) -> Iterator[str]:
    away = cover.away
    sky = away.sky
    if not away.stood_in:
        yield "The weather of these days is in store already, as a file tells it."
    elif away.years < ENOUGH_YEARS:
        yield (f"Only {counted(away.years, 'past year')} of weather in store: days up to 15 from "
               "the date stand in. More years make it surer (advisor weather past).")
    else:
        known = sky.newest.astimezone(sky.zone)
        yield (f"Weather known or foretold to {known:%a} {known.day} {known:%b}, then the same "
               f"days of {away.years} past years, drawn a little further apart than they were: "
               "a year to come may go beyond them.")

