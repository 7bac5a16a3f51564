"""Every kind of outside check as one table: what it rests on, how far off, what is allowed.

Values and tolerances are those of `tests/outside`, read from there, never written twice.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import flows
import numpy as np
from outside import test_balance_drydown as drydown
from outside import test_balance_flow as flow
from outside import test_balance_richards as fine
from outside import test_capacity as held
from outside import test_container_use as use
from outside import test_fao56 as fao
from outside import test_refet as refet
from soils import dry_days, evenings, exponential, pot_of, task

from advisor.balance import lines
from advisor.balance.run import run
from advisor.demand.et0 import daily_et0

RICHARDS = (("akadama 2-5", "autumn"), ("pumice", "June"), ("lava", "bare"),
            ("composted bark", "autumn"))


class Bench(flows.Bench):
    """The bench of the flow tests, its lines found where they start now."""

    @staticmethod
    def _at(what: np.uint64, k: int) -> int:
        return int(lines.row(what, np.uint64(k)))


@dataclass(frozen=True)
class Check:
    """One kind of check.

    Attributes
    ----------
    what, source, unit : str
    off : tuple of float
        How far off each case is.
    allowed : tuple of float
        How far it may be.
    """

    what: str
    source: str
    unit: str
    off: tuple[float, ...]
    allowed: tuple[float, ...]

    @property
    def shares(self) -> np.ndarray:
        """How much of what is allowed each case takes; above 1 it fails."""
        return np.array(self.off) / np.array(self.allowed)

    @property
    def worst(self) -> float:
        """The largest of them."""
        return float(self.shares.max())


def checks() -> list[Check]:
    """Give all checks, worked out anew."""
    return [make() for make in (fao_examples, refet_days, capacities, cores, srivastava_yeh,
                                gardner, drying, richards, container_use)]


def fao_examples() -> Check:
    """Worked examples 2 to 20 of FAO-56."""
    off = [abs(work() - float(printed)) for _, work, printed in fao.EXAMPLES]
    return Check("worked examples", "FAO-56, examples 2-20", "half a digit", tuple(off),
                 tuple(fao.half(printed) for _, _, printed in fao.EXAMPLES))


def refet_days() -> Check:
    """Ten thousand random days beside another package."""
    days = refet.random_days()
    off = np.abs(daily_et0(**days) - np.maximum(refet.of_refet(days), 0.0))
    return Check("ET0 of 10,000 random days", "refet 0.5", "mm/d", tuple(off),
                 (0.003,) * off.size)


def capacities() -> Check:
    """Container capacity by depth."""
    off = [abs(held.capacity([(name, 1.0)], depth) - share)
           for name, row in held.BY_DEPTH.items()
           for depth, share in zip(held.DEPTHS_CM, row, strict=True)]
    return Check("held by pots 3-25 cm deep", "computed apart from the same curves", "m³/m³",
                 tuple(off), (held.ROUNDED_TWICE,) * len(off))


def cores() -> Check:
    """Bark and peat in cores."""
    published = (("composted bark", 0.48), ("sphagnum peat", 0.87))
    off = [abs(held.capacity([(name, 1.0)], 7.6) - share) for name, share in published]
    shallow, deep = (held.capacity([("composted bark", 1.0)], cm) for cm in (3.8, 15.2))
    return Check("bark and peat in cores", "Int. J. Agronomy 2012; Owen & Altland 2008", "m³/m³",
                 (*off, abs(1 - deep / shallow - 0.20)), (0.03, 0.03, 0.02))


def srivastava_yeh() -> Check:
    """A column wetted from above, exact."""
    bench = Bench(exponential(), flow.steady_cm(flow.heights_cm(100), 0.1))
    depth, off = np.arange(100) + 0.5, []
    for hour in range(1, 41):
        for _ in range(round(1 / flow.DT_H)):
            bench.step(0.9 * 10 * flow.DT_H, flow.DT_H)
        if hour in flow.WETTING:
            head = -bench.tension_cm
            found = np.append(head[0] - 0.5 * (head[1] - head[0]),
                              np.interp(flow.DEPTHS_CM[1:], depth, head))
            off += np.abs(found - flow.WETTING[hour]).tolist()
    return Check("wetting of a column", "Srivastava & Yeh 1991, exact", "cm", tuple(off),
                 (flow.WITHIN_CM,) * len(off))


def gardner() -> Check:
    """Steady rise from a water table, exact."""
    off = []
    for share in (0.25, 0.5, 0.7):
        height = flow.heights_cm(30)
        bench = Bench(exponential(), height)
        for _ in range(6000):
            bench.step(-share * flow.LIMITING_CMH * 10 * flow.DT_H, flow.DT_H)
        exact = flow.steady_cm(height, -share * flow.LIMITING_CMH)
        off += np.abs(bench.tension_cm - exact).tolist()
    return Check("rise from a water table", "Gardner 1958, exact", "cm", tuple(off),
                 (flow.WITHIN_CM,) * len(off))


def drying() -> Check:
    """Dry depth day by day beside a prototype of the same equation."""
    off, allowed = [], []
    for (name, weather), depths in drydown.EXPECTED.items():
        path = run(task(pot_of(name), dry_days(len(depths), *drydown.WEATHER[weather])))
        found = evenings(path.dry_mm, len(depths))[:, 0]
        off += np.abs(found - depths).tolist()
        allowed += np.maximum(5.0, 0.15 * np.array(depths)).tolist()
    return Check("dry depth, day by day", "a prototype, run twice independently", "mm",
                 tuple(off), tuple(allowed))


def richards() -> Check:
    """Dry depth beside Richards' equation on a grid of 1 mm."""
    off, allowed = [], []
    for name, when in RICHARDS:
        apart = fine.both(name, *fine.WEATHER[when]).dry_mm
        off += np.abs(apart).tolist()
        allowed += [13.0 if "bark" in name else 7.0] * apart.size
    return Check("dry depth, fine grid", "Richards' equation, scipy's stiff solver", "mm",
                 tuple(off), tuple(allowed))


def container_use() -> Check:
    """Litres a day of plants in containers: within a band, 1 at its edge."""
    off = [_in_band(low, high, use_l) for low, high, use_l in _bands()]
    return Check("use of plants in containers", "nursery science and common practice",
                 "half a band", tuple(off), (1.0,) * len(off))


def _bands() -> Iterator[tuple[float, float, float]]:
    for name in ("pine", "spruce", "maple", "hornbeam", "elm", "beech", "oak"):
        oasis = 1.4 if use.groups.find(name).conifer else 1.1
        yield 0.27, 0.35, use._kcb(name) * oasis / 4
    for name, (crown, pot_m2) in product(("juniper", "pine"), ((22, 0.020), (35, 0.045))):
        yield 0.1, 0.5, use._use_l(name, (crown, crown), pot_m2, 4.0, 1.0)
    for length, width, low, high in ((350, 250, 0.5, 1.2), (120, 90, 0.08, 0.18),
                                     (600, 450, 1.5, 3.0)):
        crown = use.plant.default_crown_cm(length, width)
        pot_m2 = (length - 18) * (width - 18) * 1e-6
        yield low, high, use._use_l("pine", crown, pot_m2, 5.0,
                                    use.plant.oasis_factor("slats", False))


def _in_band(low: float, high: float, value: float) -> float:
    """Give how far from a band's middle a value is, over half its width."""
    return abs(value - 0.5 * (low + high)) / (0.5 * (high - low))
