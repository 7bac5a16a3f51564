"""What the air asks: FAO-56's examples, another package, published series."""

import numpy as np
from outside import test_fao56 as fao
from outside import test_fao56_crop as crop_examples
from outside import test_open_meteo_et0 as hourly
from outside import test_published_et0 as published
from outside import test_refet as refet
from right.check import Check, all_of

from advisor.demand import air, crop, et0, radiation
from advisor.demand.et0 import daily_et0


def fao_examples() -> Check:
    """Worked examples 2 to 20 of FAO-56."""
    off = [abs(work() - float(printed)) for _, work, printed in fao.EXAMPLES]
    return Check("worked examples 2-20", "FAO-56, as public tests quote it", "in its unit",
                 tuple(off), tuple(fao.half(printed) for _, _, printed in fao.EXAMPLES))


def crop_coefficients() -> Check:
    """Worked examples 27 to 36: coefficients and water in reach, those with printed results."""
    off, allowed = [], []
    for u2, rhmin, printed in all_of(crop_examples.test_example_27_maize_kc):
        off.append(abs(crop.adjusted_coefficient(1.20, u2, rhmin, 2.0) - printed))
    for tabled, *printed in all_of(crop_examples.test_examples_28_to_30_bean):
        start, middle, end = (float(crop.adjusted_coefficient(k, 2.2, 30, 0.4)) for k in tabled)
        found = (middle, crop.stage_coefficient(crop.Stage(start, middle, 25), 40 - 25),
                 crop.stage_coefficient(crop.Stage(middle, end, 20), 95 - 80))
        off += np.abs(np.subtract(found, printed)).tolist()
    for few, ke, _ in all_of(crop_examples.test_examples_32_to_34_cotton):
        off.append(abs(crop.soil_evaporation_coefficient(
            1.0, 0.9, crop_examples.cotton_kc_max, few) - ke))
    allowed += [0.005] * len(off)
    for root_m, p, taw, raw in all_of(crop_examples.test_example_36_water_in_reach):
        total = crop.total_available(np.array([0.090, 0.170, 0.120]), 0.0, root_m)
        found = (*total, *crop.readily_available(p, total))
        off += np.abs(np.subtract(found, (*taw, *raw))).tolist()
        allowed += [0.5] * 6
    return Check("worked examples 27-36", "FAO-56, from memory", "in its unit", tuple(off),
                 tuple(allowed))


def refet_days() -> Check:
    """Ten thousand random days beside another package."""
    days = refet.random_days()
    off = np.abs(daily_et0(**days) - np.maximum(refet.of_refet(days), 0.0))
    return Check("ET0 of random days", "refet 0.5", "mm/d", tuple(off), (0.003,) * off.size)


def published_series() -> Check:
    """A New Zealand station's published ET0: mean, 95 % and worst of how far off."""
    days = published.read_new_zealand()
    error = np.abs(published.ours(days) - days["ETo_FAO_mm"].to_numpy())
    off = (error.mean(), np.quantile(error, 0.95), error.max())
    return Check("published ET0, 16 years of days", "New Zealand, with the package eto 2.2.1",
                 "mm/d", tuple(map(float, off)), (0.05, 0.2, 0.6), rests_on=len(days))


def published_hargreaves() -> Check:
    """The same station, from temperature alone: mean of how far off."""
    days = published.read_new_zealand()
    ra = radiation.extraterrestrial_day(published.NEW_ZEALAND["latitude_deg"],
                                        days.index.day_of_year.to_numpy(dtype=float))
    found = et0.hargreaves(days["T_max"].to_numpy(), days["T_min"].to_numpy(), ra)
    off = float(np.abs(found - days["ETo_Har_mm"].to_numpy()).mean())
    return Check("published ET0 from temperature", "the same days of eto 2.2.1", "mm/d, mean",
                 (off,), (0.05,), rests_on=len(days))


def published_hours() -> Check:
    """Two hours of an open service's own tests."""
    vapour = air.vapour_from_dew_point(13.8)
    off = []
    for rs_mj, daylight, printed in all_of(hourly.test_hour):
        net = radiation.net_shortwave(rs_mj) - radiation.net_longwave_hour(25.0, vapour, 0.62)
        found = et0.penman_monteith_hour(
            net - radiation.soil_heat_hour(net, daylight), 25.0, air.wind_at_2m(2.0, 10.0),
            air.saturation_pressure(25.0) - vapour, air.saturation_slope(25.0),
            air.psychrometric_constant(air.atmospheric_pressure(250.0)))
        off.append(abs(float(found) - printed))
    return Check("published ET0 of hours", "Open-Meteo's own tests", "mm/h", tuple(off),
                 (0.0015,) * len(off))
