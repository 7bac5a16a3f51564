"""Limits and conversions, each in one table.

Inside the package every quantity has one unit and its name says which
(`_c`, `_mm`, `_ms`, `_kpa`, `_wm2`, `_l`). Other units are met only at the border.
"""

from typing import NamedTuple

from advisor.errors import Refused


class Limit(NamedTuple):
    """What a quantity may be: both ends are allowed."""

    low: float
    high: float
    unit: str
    words: str


LIMITS: dict[str, Limit] = {
    # Weather: the refusals of the model's own page (README, "What is refused").
    "temp_c": Limit(-60.0, 60.0, "°C", "air temperature"),
    "humidity_pct": Limit(0.0, 102.0, "%", "relative humidity"),
    "wind_ms": Limit(0.0, 60.0, "m/s", "wind speed"),
    "wind_height_m": Limit(0.5, 100.0, "m", "height of the wind sensor"),
    "rain_mm": Limit(0.0, 150.0, "mm in an hour", "rain"),
    "rain_day_mm": Limit(0.0, 1900.0, "mm in a day", "rain"),
    "ghi_wm2": Limit(0.0, 1600.0, "W/m²", "global radiation"),
    "pressure_kpa": Limit(45.0, 110.0, "kPa", "air pressure at the place"),
    "cloud_share": Limit(0.0, 1.0, "share", "cloud cover"),
    "rs_mj": Limit(0.0, 55.0, "MJ/m² in a day", "shortwave radiation"),
    "day_of_year": Limit(1.0, 366.0, "", "day of the year"),
    "dew_c": Limit(-90.0, 60.0, "°C", "dew point"),
    "vapour_kpa": Limit(0.0, 20.0, "kPa", "vapour pressure"),
    "ghi_day_mjm2": Limit(0.0, 50.0, "MJ/m² in a day", "global radiation"),
    "sunshine_h": Limit(0.0, 24.0, "h in a day", "sunshine"),
    # Site and place.
    "latitude_deg": Limit(-90.0, 90.0, "°", "latitude"),
    "longitude_deg": Limit(-180.0, 180.0, "°", "longitude"),
    "elevation_m": Limit(-430.0, 6000.0, "m", "elevation"),
    "wind_factor": Limit(0.1, 1.5, "share of the open wind", "wind factor"),
    "rain_factor": Limit(0.0, 1.0, "share of the rain", "rain factor"),
    "shade": Limit(0.0, 0.95, "share of the light taken", "shade"),
    # Tree and pot.
    "crown_cm": Limit(1.0, 600.0, "cm", "crown"),
    "length_mm": Limit(20.0, 3000.0, "mm", "pot length"),
    "width_mm": Limit(20.0, 3000.0, "mm", "pot width"),
    "height_mm": Limit(10.0, 1200.0, "mm", "pot height"),
    "soil_depth_mm": Limit(5.0, 1000.0, "mm", "soil depth"),
    "mound_mm": Limit(0.0, 400.0, "mm", "mound"),
    "drainage_mm": Limit(0.0, 300.0, "mm", "drainage layer"),
    "litres": Limit(0.005, 1000.0, "L", "soil volume"),
    "poured_l": Limit(0.001, 500.0, "L", "water poured"),
    "share": Limit(0.0, 1.0, "share", "share"),
    "target_mm": Limit(3.0, 300.0, "mm", "target depth"),
    "dry_depth_mm": Limit(0.0, 1000.0, "mm", "dry depth"),
    "weight_kg": Limit(0.02, 300.0, "kg", "weight"),
    "tip_deg": Limit(0.0, 45.0, "°", "tipped"),
    # What else a grower tells: wide enough for anything seen, narrow enough for a slip.
    "clock_h": Limit(0.0, 24.0, "h", "hour of the day"),
    "azimuth_deg": Limit(0.0, 360.0, "°", "compass direction"),
    "skyline_deg": Limit(0.0, 90.0, "°", "height of the skyline"),
    "position": Limit(0, 9999, "", "turn in the walk"),
    "base_share": Limit(0.2, 1.5, "of the length on top", "length at the base"),
    "drainage_grain_mm": Limit(0.5, 60.0, "mm", "grain of the drainage layer"),
    "density_kgl": Limit(0.05, 2.7, "kg/L", "dry density"),
    "recovery_days": Limit(1, 1500, "days", "recovery"),
}

#: unit as written in a file or option -> (factor, offset) to the unit used inside
CONVERSIONS: dict[str, dict[str, tuple[float, float]]] = {
    "temp_c": {"C": (1.0, 0.0), "°C": (1.0, 0.0), "F": (5 / 9, -160 / 9), "°F": (5 / 9, -160 / 9),
               "K": (1.0, -273.15)},
    "wind_ms": {"m/s": (1.0, 0.0), "km/h": (1 / 3.6, 0.0), "mph": (0.44704, 0.0),
                "kn": (1852 / 3600, 0.0)},
    "rain_mm": {"mm": (1.0, 0.0), "in": (25.4, 0.0), "0.1mm": (0.1, 0.0), "cm": (10.0, 0.0)},
    "ghi_wm2": {"W/m2": (1.0, 0.0), "W/m²": (1.0, 0.0), "kWh/m2": (1000.0, 0.0),
                "MJ/m2": (1e6 / 3600, 0.0), "J/cm2": (1e4 / 3600, 0.0), "Wh/m2": (1.0, 0.0),
                "langley": (41840.0 / 3600, 0.0)},
    "pressure_kpa": {"kPa": (1.0, 0.0), "hPa": (0.1, 0.0), "mbar": (0.1, 0.0), "Pa": (0.001, 0.0)},
    "humidity_pct": {"%": (1.0, 0.0), "share": (100.0, 0.0)},
    "cloud_share": {"share": (1.0, 0.0), "%": (0.01, 0.0), "octas": (0.125, 0.0),
                    "tenths": (0.1, 0.0)},
    "dew_c": {"C": (1.0, 0.0), "°C": (1.0, 0.0), "F": (5 / 9, -160 / 9), "°F": (5 / 9, -160 / 9),
              "K": (1.0, -273.15)},
    "vapour_kpa": {"kPa": (1.0, 0.0), "hPa": (0.1, 0.0), "mbar": (0.1, 0.0), "Pa": (0.001, 0.0)},
    "wind_height_m": {"m": (1.0, 0.0), "ft": (0.3048, 0.0)},
    "rain_day_mm": {"mm": (1.0, 0.0), "in": (25.4, 0.0), "0.1mm": (0.1, 0.0), "cm": (10.0, 0.0)},
    "ghi_day_mjm2": {"MJ/m2": (1.0, 0.0), "MJ/m²": (1.0, 0.0), "kWh/m2": (3.6, 0.0),
                     "Wh/m2": (0.0036, 0.0), "J/cm2": (0.01, 0.0), "W/m2": (0.0864, 0.0),
                     "langley": (0.04184, 0.0)},
    "sunshine_h": {"h": (1.0, 0.0), "min": (1 / 60, 0.0), "0.1h": (0.1, 0.0)},
    "length_mm": {"mm": (1.0, 0.0), "cm": (10.0, 0.0), "in": (25.4, 0.0)},
    "density_kgl": {"kg/L": (1.0, 0.0), "g/L": (0.001, 0.0), "g/cm3": (1.0, 0.0)},
    "weight_kg": {"kg": (1.0, 0.0), "g": (0.001, 0.0), "lb": (0.45359237, 0.0),
                  "oz": (0.028349523125, 0.0)},
    "litres": {"L": (1.0, 0.0), "l": (1.0, 0.0), "mL": (0.001, 0.0), "gal": (3.785411784, 0.0)},
}


def check(name: str, value: float, where: str = "") -> float:
    """Return `value` when it lies within `LIMITS[name]`; refuse it otherwise.

    `where` is added to the name in the message ("2026-07-01 13:00").
    """
    limit = LIMITS[name]
    if not limit.low <= value <= limit.high:  # also catches NaN
        what = f"{limit.words}, {where}" if where else limit.words
        raise Refused(what, f"{value:g} {limit.unit}",
                      f"{limit.low:g} to {limit.high:g} {limit.unit}",
                      "Check the number and its unit.")
    return value


def factor(quantity: str, unit: str) -> tuple[float, float]:
    """Give (factor, offset) that turns `unit` into the unit used inside.

    Raises
    ------
    Refused
        The unit is not known for this quantity; the message lists those that are.
    """
    known = CONVERSIONS[quantity]
    if unit not in known:
        raise Refused(f"unit of {LIMITS[quantity].words}", unit, "known: " + ", ".join(known),
                      "Give one of these units.")
    return known[unit]
