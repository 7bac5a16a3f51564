"""What a shade net would do to the air at each place, for trying it."""

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from advisor.garden.store import Garden
from advisor.jobs.away.remedies import NET_SHADE

if TYPE_CHECKING:
    from advisor.jobs.away.absence import Left

LATELY: Final = timedelta(days=30)  # whose hours show what a net does, hour of the day by hour
HOURS: Final = 24


def net_et0(garden: Garden, left: "Left") -> dict[str, NDArray[np.float64]]:
    """Give each place's ET0 under a net: as it is, times what a net did lately at that hour.

    Parameters
    ----------
    garden : Garden
    left : Left

    Returns
    -------
    dict of place to (hours,) array
        Of places where a tree stands that are not deep in shade already [mm].
    """
    from advisor.jobs import air  # loads pandas and pvlib

    told, sky = left.span.told, left.span.told.sky
    standing = {place.name: place for kept in left.kept
                if (place := told.knowledge.place_of(kept.label, told.at)) is not None
                and place.shade < NET_SHADE}
    weather = garden.weather(told.at - LATELY, told.at, told.at)
    if not standing or not weather["hour"].size:
        return {}
    under = [replace(place, name=f"{name}/net", shade=1.0 - (1.0 - place.shade) * (1.0 - NET_SHADE))
             for name, place in standing.items()]
    worked = air.work_out(told.knowledge.site, [*standing.values(), *under],
                          air.table_of(weather), air.lead_of(weather))
    hour = worked.hour // 3600 % HOURS
    found = {}
    for name in standing:
        open_mm, net_mm = (np.bincount(hour, np.nan_to_num(worked.places[each]["et0_mm"]), HOURS)
                           for each in (name, f"{name}/net"))
        ratio = np.divide(net_mm, open_mm, out=np.ones(HOURS), where=open_mm > 0.0)
        here = (sky.first // 3600 + np.arange(sky.hours)) % HOURS
        found[name] = sky.et0_mm[name] * ratio[here]
    return found
