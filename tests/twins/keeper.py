"""A keeper, a tree whose truth is known, and an advisor who sees the readings only.

The keeper waters until it runs when the pot is dry: in July below its limit and a quarter of
the available water more, in September when the new grains are dry to their target or the old
ball is near its floor. Every second day (July: evenings) one reading is taken: a scale with
± 2 g ± 0.3 % (one standard deviation, also of the reference after the first watering, which
all weights of a tree share), or a skewer with ± 3 mm, read to whole millimetres.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray
from twins.trees import Floats, Scene, noise, scenes

from advisor.balance import members, seen
from advisor.balance.belief import Reading, Told, absorb
from advisor.balance.pots import Pot
from advisor.balance.run import Forcing, Path, Task, at_rest, run
from advisor.jobs.recovery import FLOOR

Bools = NDArray[np.bool_]

COUNT = members.MEMBERS
EARLIER = 0.25  # share of available water above the limit at which the keeper waters
SCALE_KG, SCALE_SHARE, SKEWER_MM = 0.002, 0.003, 3.0
KG_PER_L = 1.5  # a pot with all that is in it, for a litre of soil
ENOUGH = 5  # readings, from which on the advice is judged
LEAST_DOUBT = 0.01  # share left: after a watering all agree, and nothing is judged
AHEAD_H, HORIZON_H = 48, 192


@dataclass(frozen=True, eq=False)
class Truth:
    """A tree as it is: one member in a pot, and how it lives through hours."""

    pot: Pot
    who: Floats
    live: Callable[[Floats, Forcing], Path]
    full: Floats


@dataclass(frozen=True, eq=False)
class Twin:
    """A tree as it is, and what is believed of it at first."""

    scene: Scene
    tool: str
    truth: Truth
    day_noise: Floats
    drawn: Floats
    drawn_noise: Floats
    seed: int


@dataclass(eq=False)
class Diary:
    """What became of one tree: one entry a reading, a round, a target reached."""

    tool: str
    season: str
    thirst: list[float] = field(default_factory=list)  # ln found less ln true, a reading
    told: list[Told] = field(default_factory=list)
    inside: list[tuple[bool, bool]] = field(default_factory=list)  # share left, litres
    width: list[float] = field(default_factory=list)  # of the interval of share left
    chance: list[tuple[float, bool]] = field(default_factory=list)
    target_h: list[float] = field(default_factory=list)  # foreseen less true hour


def as_kernel(scene: Scene, who: Floats) -> Truth:
    """Give a truth that lives as the advisor reckons."""
    pot = scene.pot
    return Truth(pot, who, lambda state, hours: run(Task(pot, who, state, hours)),
                 at_rest(pot, 1))


def draw_twin(number: int, spread: float = 1.0, wrong: float = 1.0,
              kind: Callable[[Scene, Floats], Truth] = as_kernel) -> Twin:
    """Draw one tree: season, tool and kind in turn, the rest from the prior.

    `spread` multiplies the prior's; `wrong` is by how much, up or down, thirst is off.
    """
    season, tool = ("July", "September")[number % 2], ("scale", "skewer")[number // 2 % 2]
    scene = scenes(season)[number // 4 % len(scenes(season))]
    prior, source = scene.model.filled.prior, np.random.default_rng([7, number])
    z = source.standard_normal(4) * spread
    if wrong != 1.0:
        z[0] = np.log(wrong) / members.SD_LN_THIRST * (1 if source.random() < 0.5 else -1)
    who = np.array([np.exp(members.SD_LN_THIRST * z[0]), np.exp(prior.sd_ln_capacity * z[1]),
                    prior.k_c_cmh * np.exp(members.SD_LN_K_C * z[2]),
                    np.clip(members.THRESHOLD + members.SD_THRESHOLD * z[3],
                            *members.THRESHOLD_LIMITS)])[:, None]
    return Twin(scene, tool, kind(scene, who), noise(scene, 100_000 + number, 1),
                members.draw(200_000 + number, 300_000 + number, prior),
                noise(scene, 400_000 + number, COUNT), number)


class Walk:
    """One tree walked from round to round."""

    def __init__(self, twin: Twin) -> None:
        self.twin, self.scene, self.truth = twin, twin.scene, twin.truth
        self.source = np.random.default_rng([11, twin.seed])
        self.true, self.state = self.truth.full, at_rest(self.scene.pot, COUNT)
        self.members = twin.drawn
        self.diary = Diary(twin.tool, self.scene.model.label.split()[0])
        soil_l = self.scene.model.filled.soil_l
        self.scale_sd = float(np.hypot(SCALE_KG, SCALE_SHARE * KG_PER_L * soil_l))
        self.reference = self.source.normal(0.0, self.scale_sd)
        self.since_fill: list[tuple[int, Floats, Floats]] = []

    def walk(self) -> Diary:
        """Walk all rounds."""
        rounds = self.scene.rounds
        every = 4 if self.diary.season == "July" else 2
        for i, (hour, after) in enumerate(zip(rounds, rounds[1:], strict=False)):
            if self.knows:
                self._judge_interval()
            if i % every == 1:
                self._read(i)
            self._go_on(hour, after)
        return self.diary

    @property
    def knows(self) -> bool:
        """Whether enough was read to judge the advice."""
        return len(self.diary.thirst) >= ENOUGH

    def _read(self, number: int) -> None:
        diary, truth = self.diary, self.truth
        reading = self._weighed(number) if diary.tool == "scale" else self._skewered(number)
        made = absorb(self.scene.pot, self.members, self.state, [reading],
                      [told for told in diary.told if not told.used])
        self.members, self.state = made.members, made.state
        diary.told += made.told
        diary.thirst.append(float(np.log(self.members[0]).mean() - np.log(truth.who[0, 0])))

    def _weighed(self, number: int) -> Reading:
        kg = float(seen.lacking_l(self.truth.pot, self.truth.who, self.true)[0])
        kg += self.reference - self.source.normal(0.0, self.scale_sd)
        return Reading("lacking", kg, float(np.sqrt(2.0)) * self.scale_sd, id=number)

    def _skewered(self, number: int) -> Reading:
        depth = float(seen.look(self.truth.pot, self.truth.who, self.true).dry_mm[0])
        found = np.clip(depth + self.source.normal(0.0, SKEWER_MM), 0.0, self.scene.pot.depth_mm)
        return Reading("dry depth", float(np.round(found)), SKEWER_MM, id=number)

    def _judge_interval(self) -> None:
        """See whether the 90 % interval of water left holds the truth, where there is doubt."""
        here = (self.scene.pot, self.members, self.state)
        there = (self.truth.pot, self.truth.who, self.true)
        ends = [np.quantile(found, (0.05, 0.95))
                for found in (seen.look(*here).left, seen.available_l(*here))]
        true = seen.look(*there).left[0], seen.available_l(*there)[0]
        if ends[0][1] - ends[0][0] >= LEAST_DOUBT:
            left, litres = (bool(low <= at <= high)
                            for (low, high), at in zip(ends, true, strict=True))
            self.diary.inside.append((left, litres))
            self.diary.width.append(float(ends[0][1] - ends[0][0]))

    def _go_on(self, hour: int, after: int) -> None:
        """Judge the hours to the next round, water or not, and live through them."""
        true, found = self._both(hour, after, fill=False)
        if self.knows:
            said, was = (self._past(path) for path in (found, true))
            self.diary.chance.append((float(said.mean()), bool(was[0])))
        if self._waters(true):
            true, found = self._both(hour, after, fill=True)
            self.since_fill.clear()
        elif self.scene.target_mm and self.knows:
            self.since_fill.append((hour, self.members, self.state))
        self._judge_target(hour, true)
        self.true, self.state = true.state, found.state

    def _both(self, hour: int, after: int, fill: bool) -> tuple[Path, Path]:
        twin, piece = self.twin, self.scene.piece
        true = self.truth.live(self.true, piece(hour, after, twin.day_noise, fill))
        return true, run(Task(self.scene.pot, self.members, self.state,
                              piece(hour, after, twin.drawn_noise, fill)))

    def _past(self, path: Path) -> Bools:
        """Whether its limit is passed: in recovery the old ball's floor."""
        if self.scene.target_mm:
            return np.asarray((path.ball_left < FLOOR).any(axis=0))
        return np.asarray((path.left < self.scene.limit).any(axis=0))

    def _waters(self, true: Path) -> bool:
        if self.scene.target_mm:
            deep = float(true.dry_mm[0, 0]) >= self.scene.target_mm
            return deep or float(true.ball_left[0, 0]) < FLOOR
        return float(true.left[0, 0]) < self.scene.limit + EARLIER

    def _judge_target(self, hour: int, true: Path) -> None:
        """When the truth reaches its target, see what was foreseen two days before."""
        target = self.scene.target_mm
        if not target or not (true.dry_mm[:, 0] >= target).any():
            return
        reached = hour + int(np.argmax(true.dry_mm[:, 0] >= target))
        before = [each for each in self.since_fill if abs(reached - each[0] - AHEAD_H) <= 12]
        self.since_fill.clear()
        if not before:
            return
        start, who, state = before[0]
        last = min(start + HORIZON_H, len(self.scene.hours))
        path = run(Task(self.scene.pot, who, state,
                        self.scene.piece(start, last, self.twin.drawn_noise)))
        at = path.dry_mm >= target
        hours = np.where(at.any(axis=0), np.argmax(at, axis=0), last - start)
        self.diary.target_h.append(float(np.median(hours)) - (reached - start))


def walk_all(numbers: Iterable[int], **how: Any) -> list[Diary]:
    """Walk many trees; how they differ from the prior as in `draw_twin`."""
    return [Walk(draw_twin(number, **how)).walk() for number in numbers]
