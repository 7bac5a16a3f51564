"""What would save visits: each remedy is run for the trees that force them, and planned again."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Final

import numpy as np
from numpy.typing import NDArray

from advisor.garden.records import Move, Place
from advisor.jobs.almanac import Almanac, Told
from advisor.jobs.away.absence import Left
from advisor.jobs.away.lives import Kept, Lives, Span, left_behind, life_from, lives
from advisor.jobs.away.plan_case import Case, Impossible, Plan
from advisor.jobs.away.plan_start import latest
from advisor.jobs.away.plan_visits import steps
from advisor.jobs.away.plan_why import alone
from advisor.jobs.carry import Point
from advisor.jobs.describe import TreeModel, describe
from advisor.jobs.morning import side_by_side

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


@dataclass(frozen=True, eq=False)
class Kind:
    """A remedy: what is done, for which trees it is, and how long one lasts under it."""

    words: str
    suits: Callable[[int], bool]
    lasting: Callable[[int], Lives]


def remedies(tries: Tries) -> Iterator[Saved]:
    """Try one remedy after the other; give what each brings.

    Parameters
    ----------
    tries : Tries
    """
    forced = forcing_trees(tries.left.case(), tries.plan)[:MOST_MOVED]
    if not forced:
        return
    for kind in _kinds(tries, [i for i, _ in forced]):
        best = _mended(tries, kind) if isinstance(tries.plan, Impossible) else _best(
            tries, kind, tries.plan, forced)
        if best is not None:
            yield best


def _best(tries: Tries, kind: Kind, plan: Plan, forced: Sequence[tuple[int, int]]) -> Saved | None:
    """Apply a remedy to the trees that force most, then to more of them; give the best.

    The visits that the other trees want bound what can be saved: what could not be better is not
    worked out.
    """
    now, best = len(plan.visits), None
    other: dict[int, Lives] = {}
    for least in sorted({visits for _, visits in forced}, reverse=True):
        some = [i for i, visits in forced if visits >= least and kind.suits(i)]
        bound = now - max((visits for i, visits in forced if i not in some), default=0)
        if not some or bound <= (best.worth * len(some) if best else 0):
            continue
        fresh = [i for i in some if i not in other]
        other |= zip(fresh, side_by_side(kind.lasting, fresh), strict=True)
        visits = fewest(tries.left.with_lives(other).case())
        if visits is not None and visits < now:
            found = Saved(kind.words, tuple(tries.left.kept[i].label for i in sorted(some)),
                          visits, now - visits)
            if best is None or found.worth > best.worth:
                best = found
    return best


def _mended(tries: Tries, kind: Kind) -> Saved | None:
    """Tell which of the trees that break a plan a remedy keeps."""
    assert isinstance(tries.plan, Impossible)
    some = [i for i in tries.plan.trees if kind.suits(i)][:MOST_MOVED]
    if not some:
        return None
    other = dict(zip(some, side_by_side(kind.lasting, some), strict=True))
    after = tries.left.with_lives(other).case()
    before, still = alone(tries.left.case()), alone(after)
    kept = [i for i in sorted(other) if (still is None or i not in still.trees)
            and (before is None or i in before.trees)]
    if not kept:
        return None
    visits = fewest(after) if still is None else None
    return Saved(kind.words, tuple(tries.left.kept[i].label for i in kept), visits, 0)


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


def _kinds(tries: Tries, trees: Sequence[int]) -> Iterator[Kind]:
    """Give each remedy."""
    left, begun = tries.left, tries.begun
    changed = _changed_span(left.span, tries.net_et0_mm)

    def lasting(i: int, span: Span, model: TreeModel) -> Lives:
        return lives(left_behind(model, span, begun[i][1]), span)

    def elsewhere(place: str, i: int) -> bool:
        return _place(left, i) != place

    def to(place: str, i: int) -> Lives:
        return lasting(i, _with_move(changed, begun[i][0].label, place), begun[i][0])

    def changes(mark: str, i: int) -> bool:
        return f"{_place(left, i)}{mark}" in changed.told.sky.et0_mm

    def in_place(mark: str, i: int) -> Lives:
        return to(f"{_place(left, i)}{mark}", i)

    yield Kind("dunked before leaving", lambda i: _may_be_dunked(left.kept[i], left),
               lambda i: _dunked(left, i))
    for place in _calmer(left, trees):
        yield Kind(f"to the {place}", partial(elsewhere, place), partial(to, place))
    for words, mark in (("under a shade net", NET), ("pushed together as a group", GROUPED)):
        yield Kind(words, partial(changes, mark), partial(in_place, mark))
    yield Kind("in shallow trays of water", lambda i: _may_stand_in_water(left.kept[i], left),
               lambda i: lives(replace(left.kept[i], tray_mm=TRAY_MM), left.span))
    yield Kind("dressed with chopped sphagnum",
               lambda i: begun[i][0].potting.dressing != "sphagnum",
               lambda i: lasting(i, left.span, _dressed(left, begun[i][0])))


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


def _may_be_dunked(kept: Kept, left: Left) -> bool:
    return left.span.waters and not (
        kept.watered or _pine(kept) or kept.model.recovering(left.span.told.at))


def _dunked(left: Left, i: int) -> Lives:
    told = left.lives[i]
    life, left_share = told.life.copy(), told.left.copy()
    life[:, 0], _, left_share[0] = life_from(replace(left.kept[i], watered=True), left.span, 0)
    return Lives(life, told.ready, left_share)


def _may_stand_in_water(kept: Kept, left: Left) -> bool:
    bears = kept.model.tree.bears or kept.model.group.bears
    return bears in TRAYS and not _pine(kept) and not kept.model.recovering(left.span.told.at)


def _pine(kept: Kept) -> bool:
    return kept.model.group.name == "pine"


def _dressed(left: Left, model: TreeModel) -> TreeModel:
    """Give a tree whose pot is dressed with sphagnum."""
    known = left.span.told.knowledge
    pottings = tuple(replace(each, dressing="sphagnum") if each == model.potting else each
                     for each in known.pottings[model.label])
    known = replace(known, pottings={**known.pottings, model.label: pottings})
    other = describe(known, model.label, left.span.told.at)
    assert other is not None
    return other
