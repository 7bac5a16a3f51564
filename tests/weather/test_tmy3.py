"""TMY3: every trap of the format, on the two files that pvlib packages."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from advisor.errors import Refused
from advisor.weather import files, tmy3
from advisor.weather.series import Series
from advisor.weather.vapour import saturation_kpa


@pytest.fixture(scope="module")
def year(greensboro: Path) -> Series:
    return files.read(greensboro, year=2026)


def line(path: Path, number: int) -> list[str]:
    return path.read_text().splitlines()[number - 1].split(",")


def test_it_is_told_by_its_content(greensboro: Path, sand_point: Path) -> None:
    assert files.kind_of(greensboro) == "tmy3"
    assert files.kind_of(sand_point) == "tmy3"


def test_station_and_licence_are_kept(year: Series) -> None:
    assert (year.latitude_deg, year.longitude_deg, year.elevation_m) == (36.1, -79.95, 273.0)
    assert "Greensboro" in year.source
    assert "US Government" in year.licence


def test_stamps_at_the_end_of_the_hour_move_to_its_start(year: Series, greensboro: Path) -> None:
    """Line 3 is 01:00 of 1 January, UTC-5: the hour from 05:00 to 06:00 UTC."""
    assert str(year.hours.index[0]) == "2026-01-01 05:00:00+00:00"
    assert str(year.hours.index[-1]) == "2027-01-01 04:00:00+00:00"
    assert line(greensboro, 11)[1] == "09:00"
    assert year.hours["ghi_wm2"].iloc[8] == float(line(greensboro, 11)[4]) > 0
    light = year.hours["ghi_wm2"]
    middle = np.average(light.index.hour + 0.5, weights=light * (light.index.hour > 8))  # type: ignore[attr-defined]
    assert middle == pytest.approx(17.4, abs=0.25)  # the sun's noon is 17:20 UTC at 79.95° W


def test_readings_are_means_of_the_two_ends_of_the_hour(year: Series, greensboro: Path) -> None:
    head = line(greensboro, 2)
    temp, dew = head.index("Dry-bulb (C)"), head.index("Dew-point (C)")
    before, after = line(greensboro, 15), line(greensboro, 16)
    hour = year.hours.iloc[13]
    assert hour["temp_c"] == pytest.approx((float(before[temp]) + float(after[temp])) / 2)
    vapour = saturation_kpa([float(before[dew]), float(after[dew])]).mean()
    assert hour["vapour_kpa"] == pytest.approx(vapour)


def test_rain_is_in_tenths_of_a_millimetre(year: Series) -> None:
    """8345 tenths: 834.5 mm, not 8.3 m. Greensboro has about 1100 mm in the long mean [M]."""
    assert year.hours["rain_mm"].sum() == pytest.approx(834.5, abs=1e-9)
    assert any("tenths of a millimetre" in note for note in year.notes)


def test_rain_in_millimetres_stays(sand_point: Path) -> None:
    read = files.read(sand_point, year=2026)
    assert not any("tenths" in note for note in read.notes)
    assert read.hours["rain_mm"].max() == 5.0


def test_overlapping_totals_are_left_out_and_told(sand_point: Path) -> None:
    """268 of the rows are totals of one hour; nine of them, of 193 to 255 mm, cannot be true."""
    read = files.read(sand_point, year=2026)
    assert "Rain: 481 totals of more than one hour overlap and were left out." in read.notes
    assert "Rain: 8492 of 8760 hours are not known." in read.notes
    aside = read.hours["rain_mm_from"].str.startswith("set aside")
    assert read.hours["rain_mm"].count() + aside.sum() == 268


def test_minus_9900_is_not_known(sand_point: Path) -> None:
    read = files.read(sand_point, year=2026)
    assert read.hours["rain_mm"].min() == 0.0
    assert read.hours["rain_mm"].isna().sum() > 8000


def test_pressure_is_in_mbar(year: Series) -> None:
    """273 m above the sea: about 98.1 kPa by FAO-56 Eq. 7."""
    assert year.hours["pressure_kpa"].mean() == pytest.approx(98.1, abs=1.0)


def test_months_of_several_years_need_one(greensboro: Path) -> None:
    with pytest.raises(Refused, match="Say which year it shall stand for"):
        files.read(greensboro)
    with pytest.raises(Refused, match="1900 to 2200"):
        files.read(greensboro, year=20026)


def test_a_leap_year_has_its_29_february_without_weather(greensboro: Path) -> None:
    read = files.read(greensboro, year=2028)
    assert len(read.hours) == 8784
    day = pd.DatetimeIndex(read.hours.index).tz_convert("Etc/GMT+5")
    leap = (day.month == 2) & (day.day == 29)
    assert leap.sum() == 24
    assert (read.hours["rain_mm"].isna() == leap).all()
    assert read.hours["rain_mm"].sum() == pytest.approx(834.5)
    assert "29 February is not in the file: not known." in read.notes


def test_all_zero_rain_is_not_known(greensboro: Path, tmp_path: Path) -> None:
    head = line(greensboro, 2)
    place = head.index("Lprecip depth (mm)")
    lines = greensboro.read_text().splitlines()
    rows = [row.split(",") for row in lines[2:]]
    for row in rows:
        row[place] = "0"
    path = tmp_path / "dry.csv"
    path.write_text("\n".join(lines[:2] + [",".join(row) for row in rows]) + "\n")
    assert files.read(path, year=2026).hours["rain_mm"].isna().all()


@pytest.mark.parametrize(
    ("depths", "tenths"),
    [
        ([3, 5, 8, 10, 13, 15, 18, 20, 23, 25, 500], True),
        ([1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11], False),
        ([0.3, 0.5, 0.8, 1.0, 1.3, 1.5, 1.8, 2.0, 2.3, 2.5], False),
        ([3, 5, 8], False),
        ([0] * 100, False),
    ],
)
def test_tenths_are_told_by_hundredths_of_an_inch(depths: list[float], tenths: bool) -> None:
    assert tmy3.in_tenths(np.array(depths, dtype=float)) == tenths


CUTS: tuple[Callable[[bytes], bytes], ...] = (
    lambda whole: whole[: len(whole) // 2],
    lambda whole: whole[:-5],
    lambda whole: whole[:-40],
    lambda whole: whole[:2000],
    lambda whole: whole[:200],
    lambda whole: whole.replace(b"-79.950", b"west"),
    lambda whole: whole.replace(b"Time (HH:MM),ETR", b"Time (HH:MM),TER").replace(b"GHI", b"HGI"),
    lambda whole: whole.replace(b"01/02/1988,03:00", b"01/02/1988,xx:00"),
    lambda whole: whole.replace(b"01/02/1988,03:00", b"01/02/19x8,03:00"),
    lambda whole: whole.replace(b"01/02/1988,03:00", b"31/02/1988,03:00"),
)


@pytest.mark.parametrize("cut", CUTS)
def test_a_damaged_file_is_refused(
    greensboro: Path, tmp_path: Path, cut: Callable[[bytes], bytes]
) -> None:
    path = tmp_path / "cut.csv"
    path.write_bytes(cut(greensboro.read_bytes()))
    with pytest.raises(Refused, match="Get the file again|get it again|one of these kinds"):
        files.read(path, year=2026)
