"""What would save visits: each remedy is run for the trees that force them, and planned again."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.garden.records import Move, Place
from advisor.jobs.almanac import Almanac, Told
from advisor.jobs.away import Left
from advisor.jobs.away_lives import Kept, Lives, Span, left_behind, life_from, lives
from advisor.jobs.carry import Point
from advisor.jobs.describe import TreeModel, describe
from advisor.jobs.morning import side_by_side
from advisor.jobs.plan_case import Case, Impossible, Plan
from advisor.jobs.plan_start import latest
from advisor.jobs.plan_visits import steps
from advisor.jobs.plan_why import alone

Floats = NDArray[np.float64]
Begun = Sequence[tuple[TreeModel, Point]]

MOST_MOVED: Final = 12  # trees that a remedy is tried on at once [J]
TRAY_MM: Final = 25.0  # of water in a shallow tray as large as the pot [common practice: 20-30]
CALMER: Final = 0.95  # of the demand where a tree stands, above which a move is not tried [J]
MOST_PLACES: Final = 2
NET_SHADE: Final = 0.50  # of the light that a common garden net takes [common practice: 40-60]
SEARCH_S: Final = 2.0  # for each number of visits [s] [J]
TRAYS: Final = ("never dry", "may stand in water")  # bear a tray for some days [J]
NET, GROUPED = "\0net", "\0grouped"  # after a place's name: the same place, changed


@dataclass(frozen=True)
class Saved:
    """What a remedy brings.

    Attributes
    ----------
    remedy : str
        What is done, as "to the north wall".
    trees : tuple of str
        To which.
    visits : int or None
        Visits that are needed then; None where others still break the plan.
    saved : int
        Visits fewer; 0 where there was no plan before.
    """

    remedy: str
    trees: tuple[str, ...]
    visits: int | None
    saved: int

    @property
    def worth(self) -> float:
        """Visits saved per tree."""
        return self.saved / len(self.trees)


@dataclass(frozen=True, eq=False)
class Tries:
    """What remedies are tried on: the garden as it is left, its trees now, its plan."""

    left: Left
    begun: Begun
    plan: Plan | Impossible
    net_et0_mm: Mapping[str, Floats]


def forcing_trees(case: Case, plan: Plan | Impossible) -> list[tuple[int, int]]:
    """Give the trees that force visits, each with how many it would want alone, the most first.

    Parameters
    ----------
    case : Case
    plan : Plan or Impossible
    """
    if isinstance(plan, Impossible):
        return [(i, case.end) for i in plan.trees]
    found = []
    for i in range(case.trees):
        days = latest(part(case, [i]))
        if days:
            found.append((i, len(days)))
    return sorted(found, key=lambda each: (-each[1], each[0]))[:MOST_MOVED]


def part(case: Case, trees: Sequence[int]) -> Case:
    """Give the case of some of its trees."""
    here = list(trees)
    return replace(case, life=case.life[here], ready=case.ready[here], litres=case.litres[here],
                   minutes=case.minutes[here])


def remedies(tries: Tries) -> Iterator[Saved]:
    """Try one remedy after the other; give what each brings.

    Parameters
    ----------
    tries : Tries
    """
    case = tries.left.case()
    forced = forcing_trees(case, tries.plan)[:MOST_MOVED]
    if not forced:
        return
    for words, changed in _kinds(tries, [i for i, _ in forced]):
        lasting = side_by_side(changed, [i for i, _ in forced])
        other = {i: each for (i, _), each in zip(forced, lasting, strict=True) if each is not None}
        best = _mended(tries, case, words, other) if isinstance(
            tries.plan, Impossible) else _best(tries, words, other, forced)
        if best is not None:
            yield best


def _best(tries: Tries, words: str, other: Mapping[int, Lives],
          forced: Sequence[tuple[int, int]]) -> Saved | None:
    """Apply a remedy to the trees that force most, then to more of them; give the best."""
    assert isinstance(tries.plan, Plan)
    now, best = len(tries.plan.visits), None
    for least in sorted({visits for _, visits in forced}, reverse=True):
        some = {i: other[i] for i, visits in forced if visits >= least and i in other}
        if not some:
            continue
        visits = fewest(tries.left.with_lives(some).case())
        if visits is not None and visits < now:
            found = Saved(words, tuple(tries.left.kept[i].label for i in sorted(some)), visits,
                          now - visits)
            if best is None or found.worth > best.worth:
                best = found
    return best


def _mended(tries: Tries, case: Case, words: str, other: Mapping[int, Lives]) -> Saved | None:
    """Tell which of the trees that break a plan a remedy keeps."""
    if not other:
        return None
    after = tries.left.with_lives(dict(other)).case()
    still = alone(after)
    kept = [i for i in sorted(other) if still is None or i not in still.trees]
    before = alone(case)
    kept = [i for i in kept if before is None or i in before.trees]
    if not kept:
        return None
    visits = fewest(after) if still is None else None
    return Saved(words, tuple(tries.left.kept[i].label for i in kept), visits, 0)


def fewest(case: Case) -> int | None:
    """Give how many visits a case needs, as far as a short search tells; None where none do."""
    visits = None
    for step in steps(case, SEARCH_S):
        if isinstance(step, Impossible):
            return None
        visits = len(step.visits)
        if step.proven:
            break
    return visits


# --- the remedies ------------------------------------------------------------------------


def _kinds(tries: Tries, trees: Sequence[int]) -> Iterator[
        tuple[str, Callable[[int], Lives | None]]]:
    """Give each remedy: its words, and how long a tree lasts under it (None: not for it)."""
    left, begun = tries.left, tries.begun
    changed = _changed_span(left.span, tries.net_et0_mm)

    def lasting(i: int, span: Span, model: TreeModel) -> Lives:
        return lives(left_behind(model, span, begun[i][1]), span)

    def moved(name: str) -> Callable[[int], Lives | None]:
        return lambda i: None if _place(left, i) == name else lasting(
            i, _with_move(changed, begun[i][0].label, name), begun[i][0])

    def at_its_place(mark: str) -> Callable[[int], Lives | None]:
        def other(i: int) -> Lives | None:
            name = f"{_place(left, i)}{mark}"
            if name not in changed.told.sky.et0_mm:
                return None
            return lasting(i, _with_move(changed, begun[i][0].label, name), begun[i][0])
        return other

    yield "dunked before leaving", lambda i: _dunked(left, i)
    for place in _calmer(left, trees):
        yield f"to the {place}", moved(place)
    yield "under a shade net", at_its_place(NET)
    yield "pushed together as a group", at_its_place(GROUPED)
    yield "in shallow trays of water", lambda i: _in_tray(left, i)
    yield "dressed with chopped sphagnum", lambda i: _dressed(left, begun, i)


def _changed_span(span: Span, net_et0_mm: Mapping[str, Floats]) -> Span:
    """Give the span with every place beside itself: under a net, and with pots as a group."""
    told, sky = span.told, span.told.sky
    places: dict[str, Place] = dict(told.knowledge.places)
    et0 = dict(sky.et0_mm)
    for name, place in told.knowledge.places.items():
        if name in net_et0_mm:
            places[name + NET] = replace(place, name=name + NET)
            et0[name + NET] = net_et0_mm[name]
        if not place.grouped:
            places[name + GROUPED] = replace(place, name=name + GROUPED, grouped=True)
            et0[name + GROUPED] = sky.et0_mm[name]
    knowledge = replace(told.knowledge, places=places)
    almanac = Almanac(replace(sky, et0_mm=et0), knowledge.site.latitude_deg)
    return replace(span, told=Told(knowledge, almanac, told.at))


def _with_move(span: Span, label: str, place: str) -> Span:
    """Give the span with a tree moved on leaving."""
    told = span.told
    at = told.sky.instant(int(span.at_h[0]))
    moves = {**told.knowledge.moves,
             label: (*told.knowledge.moves[label], Move(label, at, place))}
    return replace(span, told=replace(told, knowledge=replace(told.knowledge, moves=moves)))


def _place(left: Left, i: int) -> str:
    told = left.span.told
    place = told.knowledge.place_of(left.kept[i].label, told.at)
    return place.name if place else ""


def _calmer(left: Left, trees: Sequence[int]) -> list[str]:
    """Give the places where the air asks least, less than where these trees stand."""
    sky, begin = left.span.told.sky, int(left.span.at_h[0])
    asked = {name: float(sky.et0_mm[name][begin:left.span.last_h].sum())
             for name in left.span.told.knowledge.places}
    here = [asked[name] for i in trees if (name := _place(left, i))]
    most = CALMER * max(here, default=0.0)
    return sorted((name for name in asked if asked[name] < most), key=asked.__getitem__)[
        :MOST_PLACES]


def _dunked(left: Left, i: int) -> Lives | None:
    kept = left.kept[i]
    if kept.watered or _pine(kept) or kept.model.recovering(left.span.told.at):
        return None
    told = left.lives[i]
    life, left_share = told.life.copy(), told.left.copy()
    life[:, 0], _, left_share[0] = life_from(replace(kept, watered=True), left.span, 0)
    return Lives(life, told.ready, left_share)


def _in_tray(left: Left, i: int) -> Lives | None:
    kept = left.kept[i]
    bears = kept.model.tree.bears or kept.model.group.bears
    if bears not in TRAYS or _pine(kept) or kept.model.recovering(left.span.told.at):
        return None
    return lives(replace(kept, tray_mm=TRAY_MM), left.span)


def _pine(kept: Kept) -> bool:
    return kept.model.group.name == "pine"


def _dressed(left: Left, begun: Begun, i: int) -> Lives | None:
    span, model = left.span, begun[i][0]
    if model.potting.dressing == "sphagnum":
        return None
    known = span.told.knowledge
    pottings = tuple(replace(each, dressing="sphagnum") if each == model.potting else each
                     for each in known.pottings[model.label])
    known = replace(known, pottings={**known.pottings, model.label: pottings})
    other = describe(known, model.label, span.told.at)
    assert other is not None
    return lives(left_behind(other, span, begun[i][1]), span)
