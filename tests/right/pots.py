"""What pots hold and how water moves in them: tables, cores, exact solutions, a fine grid."""

import numpy as np
from flows import Bench
from outside import test_balance_drydown as drydown
from outside import test_balance_flow as flow
from outside import test_balance_richards as fine
from outside import test_capacity as held
from right.check import Check, all_of
from soils import dry_days, evenings, exponential, pot_of, task

from advisor.balance.run import run
from advisor.pot.mix import blend

TENSIONS_CM = (10.0, 100.0, 330.0, 15_000.0)


def retention() -> Check:
    """Retention of field soils, the published equation written out with published numbers."""
    off = []
    for name, theta_r, theta_s, alpha_cm, n, _ in all_of(held.test_field_soils):
        tension = np.array(TENSIONS_CM)
        wet = (1 + (alpha_cm * tension) ** n) ** (1 / n - 1)
        off += np.abs(blend([(name, 1.0)]).content(tension)
                      - (theta_r + (theta_s - theta_r) * wet)).tolist()
    return Check("retention of field soils", "Carsel & Parrish 1988; van Genuchten 1980", "m³/m³",
                 tuple(off), (1e-4,) * len(off))


def capacities() -> Check:
    """Container capacity by depth."""
    off = [abs(held.capacity([(name, 1.0)], depth) - share)
           for name, row in held.BY_DEPTH.items()
           for depth, share in zip(held.DEPTHS_CM, row, strict=True)]
    return Check("held by pots 3-25 cm deep", "own: computed apart from the same curves", "m³/m³",
                 tuple(off), (held.ROUNDED_TWICE,) * len(off))


def cores() -> Check:
    """Bark and peat in cores: water, air, all pores; and what bark loses by height."""
    off, allowed = [], []
    for name, water, air, pores in all_of(held.test_cores_of_7_6_cm):
        share, theta_s = held.capacity([(name, 1.0)], 7.6), blend([(name, 1.0)]).theta_s
        off += [abs(share - water), abs(theta_s - share - air), abs(theta_s - pores)]
        allowed += [0.03] * 3
    shallow, deep = (held.capacity([("composted bark", 1.0)], cm) for cm in (3.8, 15.2))
    return Check("bark and peat in cores", "Int. J. Agronomy 2012; Owen & Altland 2008", "m³/m³",
                 (*off, abs(1 - deep / shallow - 0.20)), (*allowed, 0.02))


def air_in_peat() -> Check:
    """Air in pots of peat."""
    peat = blend([("peat", 1.0)])
    off = [abs(peat.theta_s - held.capacity([("peat", 1.0)], depth) - air)
           for depth, air in all_of(held.test_air_in_peat_pots)]
    return Check("air in pots of peat", "nursery science, from memory", "m³/m³", tuple(off),
                 (0.05,) * len(off))


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
    """Dry depth day by day beside a prototype of the same equations."""
    off, allowed = [], []
    for (name, weather), depths in drydown.EXPECTED.items():
        path = run(task(pot_of(name), dry_days(len(depths), *drydown.WEATHER[weather])))
        found = evenings(path.dry_mm, len(depths))[:, 0]
        off += np.abs(found - depths).tolist()
        allowed += np.maximum(5.0, 0.15 * np.array(depths)).tolist()
    return Check("dry depth, day by day", "own: a prototype of the same equations", "mm",
                 tuple(off), tuple(allowed))


def richards() -> list[Check]:
    """Dry depth, storage and evaporation beside Richards' equation on a grid of 1 mm."""
    depth, stored, given = [], [], []
    for name in fine.K_C:
        for when, asks in fine.WEATHER.items():
            apart = fine.both(name, *asks)
            bark = "bark" in name
            depth += [(off, 13.0 if bark else 7.0) for off in np.abs(apart.dry_mm)]
            most = 2.0 if bark else 1.3 if (name, when) == ("akadama 2-5", "bare") else 1.0
            stored += [(off, most) for off in np.abs(apart.storage_mm)]
            given.append((abs(apart.whole - 1.0), 0.15))
    source = "Richards' equation, scipy's stiff solver"
    return [Check(what, source, unit, *map(tuple, zip(*rows, strict=True)))
            for what, unit, rows in (("dry depth, fine grid", "mm", depth),
                                     ("water held, fine grid", "mm", stored),
                                     ("given off in a week, fine grid", "of it", given))]
