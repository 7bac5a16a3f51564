"""How much trees in pots take and how fast pots dry: bands of nurseries and growers."""

from itertools import product

import numpy as np
from outside import test_balance_growers as growers
from outside import test_container_use as use
from right.check import Check, all_of, within

Bands = list[tuple[float, float, float]]


def container_use() -> Check:
    """What plants in containers took: within the range published, or that of unknown inputs."""
    return within("use of plants in containers", "Beeson 2010, 2018; Lindsey & Bassuk 1991 …",
                  [*_measured(), *_per_leaf()])


def _measured() -> Bands:
    oak = float(use.plant.transpiration_factor(use.plant.Crown(1.0, oasis=1.0),
                                               use._kcb("live oak", 29.0)))
    ratio = use.plant.oasis_factor("paving", False) / use.plant.oasis_factor("lawn", True)
    viburnum = [use._use_l("other evergreen", (size, size), 0.051, et0, 1.0, density="dense")
                for size, et0 in product((50, 65), (4, 5))]
    bare = [1000 * et0 * float(use.surface.surface_factor(cover)) * 0.051
            for cover, et0 in product((0.75, 1.0), (4, 5))]
    october, january = (use._kcb("juniper", 50.0, np.array([day], dtype="datetime64[D]"))
                        for day in ("2023-10-05", "2023-01-15"))
    winter = (1.5 * october) / (0.4 * january * use.season.cold_factor(np.array([2.6]))[0])
    return [(0.9 * 0.93, 1.1 * 0.93, oak), (1.57, 1.77, ratio),
            (min(viburnum), max(viburnum), 1.3), (min(bare), max(bare), 160.0),
            (55.0, 250.0, float(winter))]


def _per_leaf() -> Bands:
    found = []
    for (name,) in all_of(use.test_per_leaf_area):
        around = 1.4 if use.groups.find(name).conifer else 1.1
        found.append((0.27, 0.35, use._kcb(name) * around / 4))
    return found


def customary_use() -> Check:
    """What growers and nurseries take to be usual, in litres and in millimetres of the pot."""
    found = [(0.1, 0.5, use._use_l(name, (crown, crown), pot_m2, 4.0, 1.0))
             for name, (crown, pot_m2) in product(("juniper", "pine"), ((22, 0.020), (35, 0.045)))]
    slats = use.plant.oasis_factor("slats", False)
    for test, over in ((use.test_growers_bands_in_july, False),
                       (use.test_growers_millimetres_in_july, True)):
        for length, width, pot_m2, low, high in all_of(test):
            crown = use.plant.default_crown_cm(length, width)
            litres = use._use_l("pine", crown, pot_m2, 5.0, slats)
            found.append((low, high, litres / pot_m2 if over else litres))
    return within("customary use of conifers", "common practice, from memory", found)


def july_pots() -> Check:
    """The whole model in July: litres, millimetres, and hours to the limit."""
    found = []
    for name, rounds, low, high in all_of(growers.test_litres_of_a_july_day):
        july = growers.July(name)
        found.append((low, high, july.lost_mm(rounds) * july.surface_m2))
    for name, rounds, low, high in all_of(growers.test_millimetres_of_a_july_day):
        found.append((low, high, growers.July(name).lost_mm(rounds)))
    for name, left, low, high in (("pine", 0.30, 18, 36), ("small", 0.50, 9, 15),
                                  ("box", 0.30, 42, 72)):
        found.append((low, high, growers.July(name).hours_to(left)))
    return within("pots of July, whole model", "common practice", found)


def autumn_drying() -> tuple[Check, Check]:
    """Days until a pot just repotted is dry to 40 mm, and to 25 mm, which comes too late."""
    to_40, to_25 = [], []
    for start, shallow, deep in growers.DRYING.values():
        for work in growers.BALL:
            autumn = growers.Autumn(work, start)
            to_25.append((*shallow, autumn.days_to(25.0)))
            if np.isfinite(deep[1]):
                to_40.append((*deep, autumn.days_to(40.0)))
    return (within("days to 40 mm dry, repotted", "common practice", to_40),
            within("days to 25 mm dry, repotted", "common practice", to_25))
