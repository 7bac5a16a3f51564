"""Crop coefficients and soil water of FAO-56 (1998) ch. 6-8, one equation a function.

Numbers or numpy arrays that broadcast. Depths are mm over the area named, depths of soil m as
in the paper.
"""

from typing import NamedTuple

import numpy as np

from advisor.demand.air import Numbers

#: Kcb of conifers, FAO-56 Table 17, all season [M]; Table 12 gives Kc 1.00; range [J] .7 to 1.0
CONIFER_KCB = 0.95


def crop_evapotranspiration(kc: Numbers, et0_mm: Numbers) -> Numbers:
    """Crop evapotranspiration ETc [mm] from Kc [-] and ET0 [mm] (FAO-56 Eq. 58)."""
    return kc * et0_mm


def climate_shift(u2_ms: Numbers, rhmin_pct: Numbers, height_m: Numbers) -> Numbers:
    """Shift of a coefficient for wind, humidity and height (in FAO-56 Eqs. 62, 65, 70, 72).

    Parameters
    ----------
    u2_ms : float or array
        Mean wind at 2 m, 1 to 6 [m/s].
    rhmin_pct : float or array
        Mean lowest humidity, 20 to 80 [%].
    height_m : float or array
        Mean height of the plants, .1 to 10 [m].
    """
    shift = 0.04 * (u2_ms - 2.0) - 0.004 * (rhmin_pct - 45.0)
    return shift * np.power(np.divide(height_m, 3.0), 0.3)


def adjusted_coefficient(
    tabled: Numbers, u2_ms: Numbers, rhmin_pct: Numbers, height_m: Numbers
) -> Numbers:
    """Kc or Kcb [-] of mid and late season for the climate (FAO-56 Eqs. 62, 65, 70).

    Parameters
    ----------
    tabled : float or array
        The table's value; below .45 it stays as it is.
    u2_ms, rhmin_pct, height_m : float or array
        As in `climate_shift` [m/s, %, m].
    """
    shifted = tabled + climate_shift(u2_ms, rhmin_pct, height_m)
    return np.where(np.less(tabled, 0.45), tabled, shifted)


class Stage(NamedTuple):
    """A stage of growth: coefficients at its ends [-], length and days since its start [d]."""

    before: float
    after: float
    length_d: float


def stage_coefficient(stage: Stage, days_in: Numbers) -> Numbers:
    """Kc [-] within a stage of development or of the late season (FAO-56 Eq. 66).

    Parameters
    ----------
    stage : Stage
        Coefficients before and after, and length [d].
    days_in : float or array
        Days since the stage began [d].
    """
    return stage.before + days_in / stage.length_d * (stage.after - stage.before)


def dual_evapotranspiration(
    kcb: Numbers, ke: Numbers, et0_mm: Numbers, ks: Numbers = 1.0
) -> Numbers:
    """ETc [mm] of plant and soil (FAO-56 Eq. 69; under water stress Eq. 80).

    Parameters
    ----------
    kcb, ke, ks : float or array
        Basal, soil evaporation and stress coefficients [-].
    et0_mm : float or array
        Reference evapotranspiration [mm].
    """
    return (ks * kcb + ke) * et0_mm


def soil_evaporation_coefficient(
    kr: Numbers, kcb: Numbers, kc_max: Numbers, few: Numbers
) -> Numbers:
    """Soil evaporation coefficient Ke [-] (FAO-56 Eq. 71).

    Parameters
    ----------
    kr : float or array
        Reduction by dryness [-].
    kcb, kc_max : float or array
        Basal coefficient and the most there can be [-].
    few : float or array
        Share of the soil that is wetted and bare [-].
    """
    return np.minimum(kr * (kc_max - kcb), few * kc_max)


def kc_max(u2_ms: Numbers, rhmin_pct: Numbers, height_m: Numbers, kcb: Numbers) -> Numbers:
    """Highest coefficient after rain [-] (FAO-56 Eq. 72).

    Parameters
    ----------
    u2_ms, rhmin_pct, height_m : float or array
        As in `climate_shift` [m/s, %, m].
    kcb : float or array
        Basal coefficient [-].
    """
    return np.maximum(1.2 + climate_shift(u2_ms, rhmin_pct, height_m), kcb + 0.05)


def total_evaporable(theta_fc: Numbers, theta_wp: Numbers, depth_m: Numbers = 0.10) -> Numbers:
    """Total evaporable water TEW [mm] of the top layer (FAO-56 Eq. 73).

    Parameters
    ----------
    theta_fc, theta_wp : float or array
        Water held at field capacity and at wilting point [m³/m³].
    depth_m : float or array
        Depth of the layer, .10 to .15; in a pot no deeper than the pot [m].
    """
    return 1000.0 * (theta_fc - 0.5 * theta_wp) * depth_m


def evaporation_reduction(depleted_mm: Numbers, tew_mm: Numbers, rew_mm: Numbers) -> Numbers:
    """Evaporation reduction Kr, 0 to 1 [-] (FAO-56 Eq. 74).

    Parameters
    ----------
    depleted_mm : float or array
        Water gone from the top layer De [mm].
    tew_mm, rew_mm : float or array
        Total and readily evaporable water [mm].
    """
    return np.clip((tew_mm - depleted_mm) / (tew_mm - rew_mm), 0.0, 1.0)


def exposed_wetted(covered: Numbers, wetted: Numbers) -> Numbers:
    """Share few [-] of the soil that is both bare and wetted (FAO-56 Eq. 75)."""
    return np.minimum(1.0 - covered, wetted)


def exposed_wetted_drip(covered: Numbers, wetted: Numbers) -> Numbers:
    """Share few [-] where drippers stand under the canopy (FAO-56 ch. 7, with Eq. 75)."""
    return np.minimum(1.0 - covered, (1.0 - 0.67 * covered) * wetted)


def covered_share(kcb: Numbers, kc_min: Numbers, most: Numbers, height_m: Numbers) -> Numbers:
    """Share fc of the soil under plants [-] (FAO-56 Eq. 76).

    Parameters
    ----------
    kcb, kc_min, most : float or array
        Basal coefficient, that of dry bare soil, and Kc max [-].
    height_m : float or array
        Height of the plants [m].
    """
    span = np.maximum(kcb - kc_min, 0.01) / (most - kc_min)
    return np.power(span, 1.0 + 0.5 * np.asarray(height_m))


class TopLayer(NamedTuple):
    """One day of the top layer: water in and out [mm], shares wetted and exposed [-]."""

    rain_mm: Numbers
    irrigation_mm: Numbers
    evaporated_mm: Numbers
    wetted: Numbers
    exposed: Numbers


def top_layer_depletion(
    before_mm: Numbers, day: TopLayer, tew_mm: Numbers
) -> tuple[Numbers, Numbers]:
    """Depletion De [mm] at the day's end and water passed below [mm] (FAO-56 Eqs. 77-79).

    Transpiration from the layer and runoff are left out, as in the paper's examples.

    Parameters
    ----------
    before_mm : float or array
        Depletion at the end of the day before [mm].
    day : TopLayer
        What the day brought; `evaporated_mm` is Ke ET0.
    tew_mm : float or array
        Total evaporable water [mm].
    """
    water_mm = day.rain_mm + day.irrigation_mm / day.wetted
    passed_mm = np.maximum(water_mm - before_mm, 0.0)
    after_mm = before_mm - water_mm + day.evaporated_mm / day.exposed + passed_mm
    return np.clip(after_mm, 0.0, tew_mm), passed_mm


def total_available(theta_fc: Numbers, theta_wp: Numbers, root_m: Numbers) -> Numbers:
    """Total available water TAW [mm] of the root zone (FAO-56 Eq. 82).

    Parameters
    ----------
    theta_fc, theta_wp : float or array
        Water held at field capacity and at wilting point [m³/m³].
    root_m : float or array
        Depth of the roots [m].
    """
    return 1000.0 * (theta_fc - theta_wp) * root_m


def readily_available(p: Numbers, taw_mm: Numbers) -> Numbers:
    """Readily available water RAW [mm] from p [-] and TAW [mm] (FAO-56 Eq. 83)."""
    return p * taw_mm


def depletion_share(tabled: Numbers, etc_mm: Numbers) -> Numbers:
    """Share p [-] that may be used without stress, for a day's ETc [mm] (FAO-56 Table 22)."""
    return np.clip(tabled + 0.04 * (5.0 - etc_mm), 0.1, 0.8)


def stress_coefficient(depleted_mm: Numbers, taw_mm: Numbers, p: Numbers) -> Numbers:
    """Water stress coefficient Ks, 0 to 1 [-] (FAO-56 Eq. 84).

    Parameters
    ----------
    depleted_mm : float or array
        Depletion of the root zone Dr [mm].
    taw_mm : float or array
        Total available water [mm].
    p : float or array
        Share that may be used without stress [-].
    """
    return np.clip((taw_mm - depleted_mm) / ((1.0 - p) * taw_mm), 0.0, 1.0)


def root_zone_depletion(
    before_mm: Numbers, water_mm: Numbers, etc_mm: Numbers, taw_mm: Numbers
) -> Numbers:
    """Depletion Dr [mm] of the root zone at the day's end (FAO-56 Eqs. 85-88).

    Parameters
    ----------
    before_mm : float or array
        Depletion at the end of the day before [mm].
    water_mm : float or array
        Rain and irrigation that entered [mm]; more than the depletion passes below.
    etc_mm : float or array
        Evapotranspiration of the day [mm].
    taw_mm : float or array
        Total available water [mm].
    """
    after_mm = np.maximum(before_mm - water_mm, 0.0) + etc_mm
    return np.clip(after_mm, 0.0, taw_mm)
