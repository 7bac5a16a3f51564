"""What would change a verdict: other weather, water or limits, judged anew."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from advisor.garden.records import Watering
from advisor.jobs.almanac import Almanac, Told
from advisor.jobs.carry import Point, advance, course_of
from advisor.jobs.describe import TreeModel
from advisor.jobs.judge import LEAVE, When, judge
from advisor.jobs.rests import last_hour
from advisor.jobs.summary import outlook_of

RAIN_HOURS: Final = 3  # before now, over which rain is thought to have fallen
#: What is tried, step by step, the least first: demand [%], rain [mm], litres over what the full
#: pot holds for the tree [-], share left at which it is called [-].
STEPS: Final[Mapping[str, Sequence[float]]] = {
    "less demand": tuple(range(1, 91)),
    "more demand": tuple(range(1, 301)),
    "rain": tuple(range(1, 61)),
    "water": tuple(i / 20 for i in range(1, 41)),
    "lower limit": tuple(i / 100 for i in range(1, 91)),
    "higher limit": tuple(i / 100 for i in range(1, 91)),
}
WETTER: Final = ("less demand", "rain", "water", "lower limit")
DRIER: Final = ("more demand", "higher limit")


@dataclass(frozen=True)
class Change:
    """The least change of one thing that gives another verdict.

    Attributes
    ----------
    what : str
        A key of `STEPS`.
    amount : float
        Demand [%], rain in the open [mm], water [L], share left at which it is called [-].
    verdict : str
        That comes of it.
    """

    what: str
    amount: float
    verdict: str


@dataclass(frozen=True, eq=False)
class Case:
    """A tree from some hour before now, to be judged now as things are or as they might be."""

    model: TreeModel
    told: Told
    start: Point
    when: When

    def verdict(self, what: str = "", amount: float = 0.0) -> str:
        """Judge it with one thing changed.

        Parameters
        ----------
        what : str
            A key of `STEPS`; nothing is changed where "".
        amount : float
            As in `Change`.
        """
        model, told = self.model, self.told
        if what.endswith("demand"):
            told = self._drier(1.0 + (amount if what == "more demand" else -amount) / 100.0)
        elif what == "rain":
            told = self._rained(amount)
        elif what == "water":
            told = self._poured(amount)
        elif what.endswith("limit"):
            model = replace(model, bears=replace(model.bears, limit=amount))
        return self._judged(model, told)

    def _judged(self, model: TreeModel, told: Told) -> str:
        sky = told.sky
        last = min(last_hour(told), self.when.hour(self.when.rounds[1]) + 2)
        course = course_of(model, told, self.start, last)
        hour = min(max(sky.index(told.at), self.start.index), course.last)
        now, past = advance(course, self.start, hour, keep=True, told_to=told.at)
        _, coming = advance(course, now, course.last, keep=True)
        return judge(outlook_of(model, told, course.days, past.then(coming)), self.when).verdict

    def _drier(self, factor: float) -> Told:
        """Change what the air asked since the start, and asks from now on."""
        sky = self.told.sky
        scale = np.where(np.arange(sky.hours) >= self.start.index, factor, 1.0)
        return self._under(et0_mm={name: et0 * scale for name, et0 in sky.et0_mm.items()})

    def _rained(self, fallen_mm: float) -> Told:
        """Let rain fall in the hours before now."""
        sky, now = self.told.sky, self.when.now
        hours = slice(max(now - RAIN_HOURS, self.start.index), max(now, self.start.index + 1))
        more = np.zeros(sky.hours)
        more[hours] = fallen_mm / (hours.stop - hours.start)
        ways = sky.ways and replace(
            sky.ways, rain_mm=sky.ways.rain_mm + more[sky.ways.first:, None])
        return self._under(rain_mm=sky.rain_mm + more, ways=ways)

    def _under(self, **weather: object) -> Told:
        sky = replace(self.told.sky, **weather)  # type: ignore[arg-type]
        return replace(self.told, almanac=Almanac(sky, self.told.almanac.latitude_deg))

    def _poured(self, litres: float) -> Told:
        """Let so much be poured now."""
        knowledge, label = self.told.knowledge, self.model.label
        poured = Watering(label, self.told.at, litres, until_ran=False)
        waterings = {**knowledge.waterings, label: (*knowledge.waterings[label], poured)}
        return replace(self.told, knowledge=replace(knowledge, waterings=waterings))


def changes(case: Case) -> tuple[Change, ...]:
    """Find, for each thing that could be otherwise, the least change that gives another verdict.

    A tree kept to a dry depth has no limit to be changed.
    """
    verdict = case.verdict()
    found = (_least(case, what, verdict) for what in (DRIER if verdict == LEAVE else WETTER)
             if not (what.endswith("limit") and case.model.dry_target_mm(case.told.at)))
    return tuple(each for each in found if each)


def _least(case: Case, what: str, verdict: str) -> Change | None:
    """Find the least step that changes a verdict; None where none does.

    Steps are halved between the largest that leaves it and the smallest that does not: each
    changes a verdict the more, the larger it is.
    """
    amounts = _amounts(case, what)
    after: dict[int, str] = {}

    def changed(i: int) -> bool:
        after[i] = case.verdict(what, amounts[i])
        return after[i] != verdict

    first = first_true(changed, len(amounts))
    return None if first is None else Change(what, amounts[first], after[first])


def _amounts(case: Case, what: str) -> list[float]:
    steps, limit = STEPS[what], case.model.limit_at(case.told.at)
    if what == "water":
        return [step * case.model.filled.pot.available_l for step in steps]
    if what == "lower limit":
        return [round(limit - step, 2) for step in steps if step < limit]
    if what == "higher limit":
        return [round(limit + step, 2) for step in steps if limit + step <= 1.0]
    return list(steps)


def first_true(test: Callable[[int], bool], count: int) -> int | None:
    """Find the first of `count` numbers for which a test holds, where it holds from there on."""
    if count == 0 or not test(count - 1):
        return None
    low, high = -1, count - 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if test(middle) else (middle, high)
    return high
