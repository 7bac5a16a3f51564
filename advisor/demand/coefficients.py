"""Every number the air's demand rests on, with its unit, range and source.

Sources: `[S]` read in a published source, `[M]` from memory, `[J]` a judgement.
FAO-56 is Allen, Pereira, Raes, Smith (1998), Irrigation and Drainage Paper 56, first edition.
"""

from typing import NamedTuple


class Coefficient(NamedTuple):
    """One number: what it is worth, between which bounds, in which unit, who says so."""

    value: float
    low: float
    high: float
    unit: str
    source: str


TABLE: dict[str, Coefficient] = {
    # Air (FAO-56 ch. 3).
    "sea_level_pressure": Coefficient(101.3, 101.3, 101.3, "kPa", "[S] FAO-56 Eq. 7"),
    "pressure_exponent": Coefficient(5.26, 5.26, 5.26, "-", "[S] FAO-56 Eq. 7"),
    "lapse_rate": Coefficient(0.0065, 0.0065, 0.0065, "K/m", "[S] FAO-56 Eq. 7"),
    "psychrometric": Coefficient(0.665e-3, 0.6647e-3, 0.665e-3, "1/K", "[S] FAO-56 Eq. 8"),
    "slope_factor": Coefficient(4098.0, 4098.0, 4098.0, "°C", "[S] FAO-56 Eq. 13"),
    "ventilated_wet_bulb": Coefficient(0.000662, 0.000662, 0.0012, "1/°C", "[S] FAO-56 Eq. 16"),
    "wind_profile_factor": Coefficient(67.8, 67.8, 67.8, "1/m", "[S] FAO-56 Eq. 47"),
    "wind_profile_offset": Coefficient(5.42, 5.42, 5.42, "-", "[S] FAO-56 Eq. 47"),
    # Radiation (FAO-56 ch. 3).
    "solar_constant": Coefficient(0.0820, 0.0820, 0.0820, "MJ/m²/min", "[S] FAO-56 Eq. 21"),
    "angstrom_a": Coefficient(0.25, 0.18, 0.30, "-", "[S] FAO-56 Eq. 35; range [M]"),
    "angstrom_b": Coefficient(0.50, 0.40, 0.60, "-", "[S] FAO-56 Eq. 35; range [M]"),
    "clear_sky_share": Coefficient(0.75, 0.70, 0.80, "-", "[S] FAO-56 Eq. 37"),
    "clear_sky_rise": Coefficient(2e-5, 2e-5, 2e-5, "1/m", "[S] FAO-56 Eq. 37"),
    "albedo": Coefficient(0.23, 0.20, 0.25, "-", "[S] FAO-56 Eq. 38"),
    "stefan_boltzmann_day": Coefficient(
        4.903e-9, 4.901e-9, 4.903e-9, "MJ/m²/K⁴/day", "[S] FAO-56 Eq. 39"
    ),
    "relative_shortwave_floor": Coefficient(
        0.3, 0.25, 0.33, "-", "[S] as pyet limits it; FAO-56 states only the ceiling"
    ),
    "relative_shortwave_night": Coefficient(
        0.6, 0.4, 0.8, "-", "[M] FAO-56 ch. 4: .4-.6 humid, .7-.8 arid; only where no sun is known"
    ),
    "range_interior": Coefficient(0.16, 0.14, 0.18, "1/√°C", "[S] FAO-56 Eq. 50"),
    "range_coastal": Coefficient(0.19, 0.17, 0.21, "1/√°C", "[S] FAO-56 Eq. 50"),
    "cloud_overcast": Coefficient(
        0.35, 0.25, 0.45, "-", "[J] linear in cloud; De Bilt 2010-2019: bias -.11, MAE .29 mm/d"
    ),
    # Reference surface (FAO-56 ch. 4).
    "evaporates": Coefficient(0.408, 0.408, 0.408, "mm/(MJ/m²)", "[S] FAO-56 Eq. 6, Eq. 20"),
    "daily_numerator": Coefficient(900.0, 900.0, 900.0, "K mm s³/Mg/d", "[S] FAO-56 Eq. 6"),
    "hourly_numerator": Coefficient(37.0, 37.0, 37.0, "K mm s³/Mg/h", "[S] FAO-56 Eq. 53"),
    "denominator": Coefficient(0.34, 0.34, 0.34, "s/m", "[S] FAO-56 Eq. 6, Eq. 53"),
    "soil_heat_day": Coefficient(0.1, 0.1, 0.1, "-", "[S] FAO-56 Eq. 45"),
    "soil_heat_night": Coefficient(0.5, 0.5, 0.5, "-", "[S] FAO-56 Eq. 46"),
    "hargreaves": Coefficient(0.0023, 0.0023, 0.0023, "-", "[S] FAO-56 Eq. 52"),
    "default_wind": Coefficient(2.0, 0.5, 4.0, "m/s", "[S] FAO-56 ch. 3, missing wind"),
    "default_wind_height": Coefficient(10.0, 2.0, 10.0, "m", "[M] WMO standard exposure"),
    # Clear sky and its limits.
    "aerosol_depth": Coefficient(0.1, 0.03, 0.3, "-", "[S] pvlib's default of simplified Solis"),
    "precipitable_water": Coefficient(1.4, 0.5, 4.0, "cm", "[M] mid-latitude mean"),
    "impossible_day": Coefficient(1.15, 1.1, 1.3, "× clear sky", "[J]"),
    "impossible_hour": Coefficient(1.25, 1.2, 1.5, "× clear sky", "[J] cloud-edge hours pass"),
    "impossible_hour_slack": Coefficient(60.0, 30.0, 100.0, "W/m²", "[J]"),
    "impossible_day_slack": Coefficient(0.5, 0.2, 1.0, "MJ/m²", "[J] twilight, snow, offsets"),
    # The day's shape.
    "flat_day": Coefficient(0.1, 0.05, 0.2, "mm", "[J] below it an hourly shape is noise"),
}


def value(name: str) -> float:
    """Give the value of one coefficient of `TABLE`."""
    return TABLE[name].value
