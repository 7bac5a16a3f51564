"""An absence planned: the visits, how safe they are, what a helper may go by, what would save."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from advisor.jobs.away import Left
from advisor.jobs.away_replay import Risk, any_harm, matters_most, risks, under_past_years
from advisor.jobs.away_sky import AwaySky
from advisor.jobs.plan_case import UNDECIDED, Impossible, Plan
from advisor.jobs.plan_visits import steps
from advisor.jobs.remedies import Begun, Saved, part
from advisor.jobs.signs import HotRule, RainRule, hot_rule, rain_rule, seen


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

    @property
    def plan_missing(self) -> bool:
        """Whether there is no plan."""
        return isinstance(self.plan, Impossible)

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


def plans(left: Left, away: AwaySky) -> Iterator[Cover]:
    """Give plans as they get better.

    Parameters
    ----------
    left : Left
    away : AwaySky
    """
    for step in steps(left.case()):
        yield Cover(left, away, step, whole=False)


def of_the_rest(cover: Cover) -> Cover:
    """Give, where some trees break every plan, what keeps the others."""
    plan = cover.plan
    if not isinstance(plan, Impossible) or plan.why == UNDECIDED:
        return cover
    trees = [i for i in range(len(cover.left.kept)) if i not in plan.trees]
    if not trees or len(trees) == len(cover.left.kept):
        return cover
    last: Plan | Impossible | None = None
    for last in steps(part(cover.left.case(), trees)):
        if isinstance(last, Plan) and last.proven:
            break
    return replace(cover, others=last) if isinstance(last, Plan) else cover


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
