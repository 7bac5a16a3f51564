"""Every kind of outside check as one table: what it rests on, how far off, what is allowed.

Values and tolerances are those of `tests/outside`, read from there, never written twice.
"""

from right import air, plants, pots
from right.check import Check

#: Outside what growers expect, and said so wherever the table is shown.
MISSED = ("days to 25 mm dry, repotted",)


def checks() -> list[Check]:
    """Give all checks, worked out anew."""
    return [air.fao_examples(), air.crop_coefficients(), air.refet_days(),
            air.published_series(), air.published_hargreaves(), air.published_hours(),
            pots.retention(), pots.cores(), pots.air_in_peat(), pots.capacities(),
            pots.srivastava_yeh(), pots.gardner(), pots.drying(), *pots.richards(),
            plants.container_use(), plants.customary_use(), plants.july_pots(),
            *plants.autumn_drying()]
