"""EPW: every trap of the format, on files made for the tests."""

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from advisor.errors import Refused
from advisor.weather import files

Make = Callable[..., Path]


def test_hours_are_labelled_by_their_start(epw: Make) -> None:
    """Hour 12 of UTC+1 ends at noon: it starts at 10:00 UTC."""
    read = files.read(epw())
    assert files.kind_of(epw()) == "epw"
    assert len(read.hours) == 8760
    assert str(read.hours.index[0]) == "2002-12-31 23:00:00+00:00"
    sunny = read.hours.index[read.hours["ghi_wm2"] == 400.0]
    assert set(pd.DatetimeIndex(sunny).hour) == {10}
    assert (read.latitude_deg, read.longitude_deg, read.elevation_m) == (52.0, 5.0, 10.0)


def test_readings_are_means_of_the_two_ends_of_the_hour(epw: Make) -> None:
    read = files.read(epw(lambda n, *_: {"temp": "20.0"} if n == 5 else {}))
    assert list(read.hours["temp_c"].iloc[3:8]) == [10.0, 10.0, 15.0, 15.0, 10.0]


def test_pressure_is_in_pascal(epw: Make) -> None:
    assert files.read(epw()).hours["pressure_kpa"].iloc[9] == pytest.approx(101.3)


@pytest.mark.parametrize("rain", ["999", "0"])
def test_rain_that_is_all_nil_or_all_missing_is_not_known(epw: Make, rain: str) -> None:
    read = files.read(epw(lambda *_: {"rain": rain}))
    assert read.hours["rain_mm"].isna().all()
    assert any("not as dry" in note for note in read.notes)


def test_rain_that_falls_is_kept_in_its_hour(epw: Make) -> None:
    read = files.read(epw(lambda n, *_: {"rain": "2.5" if n == 10 else "0"}))
    assert read.hours["rain_mm"].iloc[10] == 2.5
    assert read.hours["rain_mm"].sum() == 2.5
    assert any("seldom measured" in note for note in read.notes)


def test_missing_codes_are_not_numbers(epw: Make) -> None:
    missing = {
        "temp": "99.9",
        "dew": "99.9",
        "humidity": "999",
        "pressure": "999999",
        "ghi": "9999",
        "wind": "999",
        "cloud": "99",
    }
    read = files.read(epw(lambda n, *_: missing if 100 <= n < 110 else {}))
    gap = read.hours.iloc[101:110]
    for column in ("temp_c", "vapour_kpa", "wind_ms", "ghi_wm2", "cloud_share", "pressure_kpa"):
        assert gap[column].isna().all()
        assert set(gap[f"{column}_from"]) == {""}


def test_impossible_numbers_are_set_aside_and_told(epw: Make) -> None:
    read = files.read(epw(lambda n, *_: {"wind": "75.0"} if n == 100 else {}))
    assert list(read.hours["wind_ms"].iloc[99:103]) == [3.0] * 4
    assert set(read.hours["wind_ms_from"].iloc[100:102]) == {
        "between neighbours (set aside: 75 m/s (0 to 60 m/s))"
    }


def test_months_of_several_years_need_one(epw: Make) -> None:
    path = epw(years=(1999, 2003, 2004))
    with pytest.raises(Refused, match="months of 3 years, 1999 to 2004"):
        files.read(path)
    read = files.read(path, year=2026)
    assert set(pd.DatetimeIndex(read.hours.index).year) == {2025, 2026}
    assert "1999 to 2004, and 2026 is nominal" in read.notes[0]


def test_a_file_of_one_year_is_that_year_or_says_so(epw: Make) -> None:
    assert not any("nominal" in note for note in files.read(epw()).notes)
    assert files.read(epw(), year=2026).notes[0] == "The weather of 2003; 2026 is nominal."


def test_29_february_is_absent(epw: Make) -> None:
    read = files.read(epw(), year=2028)
    assert len(read.hours) == 8784
    assert read.hours.loc["2028-02-29T06":"2028-02-29T18", "temp_c"].isna().all()  # type: ignore[misc]


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 0.9999])
def test_a_file_cut_off_is_refused(epw: Make, share: float) -> None:
    path = epw()
    whole = path.read_bytes()
    path.write_bytes(whole[: int(len(whole) * share)])
    with pytest.raises(Refused, match="cut off half-way"):
        files.read(path)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("52.0,5.0,1.0,10.0", "north,5.0,1.0,10.0"),
        ("52.0,5.0,1.0,10.0", "52.0"),
        ("2003,2,28,7,", "2003,2,31,7,"),
        ("2003,2,28,7,", "two,2,28,7,"),
        (",10.0,5.0,71,", ",warm,5.0,71,"),
    ],
)
def test_a_damaged_file_is_refused(epw: Make, old: str, new: str) -> None:
    path = epw()
    path.write_text(path.read_text().replace(old, new))
    with pytest.raises(Refused, match="Get the file again"):
        files.read(path)


def test_older_encodings_are_read(epw: Make) -> None:
    path = epw()
    path.write_bytes(path.read_text().replace("Somewhere", "Zürich").encode("iso-8859-1"))
    assert "Zürich" in files.read(path).source
