"""An absence planned: the visits, how safe they are, what a helper may go by, what would save."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from advisor.jobs.away.absence import Left
from advisor.jobs.away.plan_again import near
from advisor.jobs.away.plan_case import UNDECIDED, Flags, Impossible, Plan
from advisor.jobs.away.plan_visits import steps
from advisor.jobs.away.remedies import Begun, Saved, part
from advisor.jobs.away.replay import Risk, any_harm, matters_most, risks, under_past_years
from advisor.jobs.away.signs import HotRule, RainRule, hot_rule, rain_rule, seen
from advisor.jobs.away.sky import AwaySky


@dataclass(frozen=True, eq=False)
class Cover:
    """What came of it.

    Attributes
    ----------
    left : Left
    away : AwaySky
    plan : Plan or Impossible
    risks : tuple of Risk
    years_harm : float or None
        Share of past years in which some tree comes to harm; None where none is in store.
    matters : int or None
        The visit that matters most, by its turn in the plan.
    hot, rain : HotRule, RainRule or None
    saves : tuple of Saved
        The most visits a tree first.
    others : Plan or None
        Of the trees that can be kept, where some cannot.
    whole : bool
        Whether all was worked out; it was stopped early where not.
    unknown : tuple of str
        Trees of which it was stopped before how long they last was worked out: the plan leaves
        them aside.
    """

    left: Left
    away: AwaySky
    plan: Plan | Impossible
    risks: tuple[Risk, ...] = ()
    years_harm: float | None = None
    matters: int | None = None
    hot: HotRule | None = None
    rain: RainRule | None = None
    saves: tuple[Saved, ...] = ()
    others: Plan | None = None
    whole: bool = True
    unknown: tuple[str, ...] = ()

    @property
    def plan_missing(self) -> bool:
        """Whether there is no plan for all trees."""
        return isinstance(self.plan, Impossible) or bool(self.unknown)

    @property
    def reached(self) -> float:
        """Share of the ways the weather may go in which no tree comes to harm."""
        if isinstance(self.plan, Impossible):
            return 0.0
        return 1.0 - len(self.plan.lost) / len(self.left.lives[0].life)

    def with_saves(self, saves: Sequence[Saved]) -> "Cover":
        """Give the same with remedies, those that save most a tree first."""
        ranked = sorted(saves, key=lambda each: (-each.worth, -len(each.trees), each.remedy))
        return replace(self, saves=tuple(ranked))


def nothing_yet(left: Left, away: AwaySky) -> Cover:
    """Give what there is before a plan was found."""
    return Cover(left, away, Impossible((), left.span.end, UNDECIDED), whole=False)


def plans(left: Left, away: AwaySky, seconds: float | None = None,
          before: Flags | None = None) -> Iterator[Cover]:
    """Give plans as they get better.

    Parameters
    ----------
    left : Left
    away : AwaySky
    seconds : float
        How long the search may take [s], else by the number of trees.
    before : bool array (n, D + 1), optional
        Waterings of a plan before, near which the last is to be.
    """
    case, last = left.case(), None
    for last in steps(case, seconds):
        yield Cover(left, away, last, whole=False)
    if before is not None and isinstance(last, Plan):
        yield Cover(left, away, near(case, last, before), whole=False)


def of_the_rest(cover: Cover) -> Iterator[Cover]:
    """Give, where some trees break every plan, what keeps the others, as it gets better."""
    yield cover
    plan = cover.plan
    if not isinstance(plan, Impossible) or plan.why == UNDECIDED:
        return
    trees = [i for i in range(len(cover.left.kept)) if i not in plan.trees]
    if not trees or len(trees) == len(cover.left.kept):
        return
    for step in steps(part(cover.left.case(), trees)):
        if isinstance(step, Plan):
            yield replace(cover, others=step)
            if step.proven:
                return


def judged(cover: Cover, begun: Begun) -> Cover:
    """Give the same with its plan walked through again, and the rules that come of it."""
    plan, left = cover.plan, cover.left
    if isinstance(plan, Impossible):
        return cover
    past = under_past_years(left, cover.away, begun)
    told, under = risks(left, plan, past)
    cover = replace(cover, risks=tuple(told), matters=matters_most(left, plan))
    if past is None:
        return cover
    signs = seen(past, cover.away)
    return replace(cover, years_harm=any_harm(under, past),
                   hot=hot_rule(left, plan, past, signs, under),
                   rain=rain_rule(left, plan, past, signs, under))
