"""The own daily file: read by the days of its zone, checked, and spread so that days return."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from advisor.errors import ManyRefused, Refused
from advisor.weather import files
from advisor.weather.series import COLUMNS, Series
from advisor.weather.vapour import saturation_kpa

Write = Callable[[str], Path]

PLACE = "# latitude: 52.1\n# longitude: 5.2\n"
HEAD = PLACE + "day [Europe/Berlin],tmax [C],tmin [C]"


def by_day(read: Series, column: str, zone: str = "Europe/Berlin") -> "pd.api.typing.SeriesGroupBy":
    middle = pd.DatetimeIndex(read.hours.index) + pd.Timedelta(minutes=30)
    return read.hours[column].groupby(middle.tz_convert(zone).date)


def one(written: Write, more: str, cells: str, zone: str = "Europe/Berlin") -> Series:
    head = HEAD.replace("Europe/Berlin", zone)
    return files.read(written(f"{head}{more}\n2026-07-01,24,12{cells}\n"))


def test_a_day_returns(written: Write) -> None:
    read = files.read(
        written(
            "# source: the village\n" + HEAD + ",dew point [C],wind 10m [km/h],radiation [MJ/m2],"
            "rain [mm],pressure [hPa],cloud [octas]\n"
            "2026-07-01,24.1,12.3,11,7.2,22.5,4.8,1013,4\n2026-07-02,20,8,6,3.6,25,0,1010,1\n"
        )
    )
    assert files.kind_of(Path(written.__closure__[0].cell_contents) / "weather.csv") == "daily"  # type: ignore[index]
    assert read.source == "the village"
    assert list(by_day(read, "temp_c").max()) == [24.1, 20.0]
    assert list(by_day(read, "temp_c").min()) == [12.3, 8.0]
    assert list(by_day(read, "wind_ms").mean()) == pytest.approx([2.0, 1.0])
    assert list(by_day(read, "ghi_wm2").sum() * 0.0036) == pytest.approx([22.5, 25.0])
    assert list(by_day(read, "rain_mm").sum()) == pytest.approx([4.8, 0.0])
    vapour = saturation_kpa([11.0, 6.0])
    assert list(by_day(read, "vapour_kpa").mean()) == pytest.approx(list(vapour))
    assert read.hours["pressure_kpa"].iloc[0] == pytest.approx(101.3)
    assert read.hours["cloud_share"].iloc[0] == 0.5
    for column in COLUMNS:
        assert set(read.hours[f"{column}_from"]) == {"spread from the day"}


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        (("vapour [kPa]", "1.2"), 1.2),
        (("vapour [hPa]", "12"), 1.2),
        (("dew point [C]", "10"), 1.2280),
        (("dew point [F]", "50"), 1.2280),
        # FAO-56 Eq. 17 and 19 with e°(24) 2.984 and e°(12) 1.403 of its annex table 2.3 [M]
        (("humidity max [%],humidity min [%]", "90,45"), (1.403 * 0.9 + 2.984 * 0.45) / 2),
        (("humidity [%]", "60"), 0.6 * (1.403 + 2.984) / 2),
    ],
)
def test_every_humidity_becomes_vapour(
    written: Write, more: tuple[str, str], expected: float
) -> None:
    read = one(written, f",{more[0]}", f",{more[1]}")
    assert read.hours["vapour_kpa"].mean() == pytest.approx(expected, abs=5e-4)


@pytest.mark.parametrize(
    ("head", "cell"),
    [
        ("radiation [MJ/m2]", "18"),
        ("radiation [MJ/m²]", "18"),
        ("radiation [kWh/m2]", "5"),
        ("radiation [Wh/m2]", "5000"),
        ("radiation [J/cm2]", "1800"),
        ("radiation [W/m2]", "208.333333"),
        ("radiation [langley]", "430.210325"),
    ],
)
def test_every_unit_of_radiation_gives_the_same_day(written: Write, head: str, cell: str) -> None:
    read = one(written, f",{head}", f",{cell}")
    assert read.hours["ghi_wm2"].sum() * 0.0036 == pytest.approx(18.0, rel=1e-7)


@pytest.mark.parametrize(
    ("head", "cell"),
    [("sunshine [h]", "9.25"), ("sunshine [min]", "555"), ("sunshine [0.1h]", "92.5")],
)
def test_sunshine_stands_in_for_radiation_and_is_told(written: Write, head: str, cell: str) -> None:
    read = one(written, f",{head},radiation [MJ/m2]", f",{cell},")
    assert read.notes == ("Days whose radiation is estimated from sunshine: 1.",)
    assert read.hours["ghi_wm2"].sum() * 0.0036 == pytest.approx(22.0, abs=0.5)


@pytest.mark.parametrize(
    ("zone", "day", "count"),
    [
        ("Europe/Berlin", "2026-03-29", 23),
        ("Europe/Berlin", "2026-10-25", 25),
        ("America/New_York", "2026-03-08", 23),
        ("America/New_York", "2026-11-01", 25),
        ("Australia/Lord_Howe", "2026-10-04", 23),
        ("Australia/Lord_Howe", "2026-04-05", 25),
        ("Asia/Kolkata", "2026-07-01", 24),
        ("Europe/Berlin", "2024-02-29", 24),
    ],
)
def test_days_with_a_change_of_clock_keep_their_sums(
    written: Write, zone: str, day: str, count: int
) -> None:
    """Half an hour more or less is a whole hour more or less by midpoints."""
    dates = [f"{pd.Timestamp(day) + pd.Timedelta(days=i):%Y-%m-%d}" for i in (-1, 0, 1)]
    text = HEAD.replace("Europe/Berlin", zone) + ",rain [mm],radiation [MJ/m2]\n"
    read = files.read(written(text + "".join(f"{date},12,3,6,5\n" for date in dates)))
    counts = by_day(read, "temp_c", zone).count().tolist()
    assert abs(counts[1] - count) <= (1 if zone == "Australia/Lord_Howe" else 0)
    assert by_day(read, "rain_mm", zone).sum().to_numpy() == pytest.approx(6.0)
    assert by_day(read, "ghi_wm2", zone).sum().to_numpy() * 0.0036 == pytest.approx(5.0)
    assert by_day(read, "temp_c", zone).max().to_numpy() == pytest.approx(12.0)
    assert by_day(read, "temp_c", zone).min().to_numpy() == pytest.approx(3.0)


def test_a_missing_day_and_an_empty_cell_are_not_known(written: Write) -> None:
    text = HEAD + ",rain [mm]\n2026-07-01,20,10,1\n2026-07-03,20,10,\n"
    read = files.read(written(text))
    assert by_day(read, "temp_c").count().tolist() == [24, 0, 24]
    assert by_day(read, "rain_mm").count().tolist() == [24, 0, 0]


def test_a_polar_night_is_read(written: Write) -> None:
    text = HEAD.replace("52.1", "78.2").replace("Berlin", "Oslo") + ",radiation [MJ/m2]\n"
    read = files.read(written(text + "2026-12-21,-10,-18,0\n2026-12-22,-9,-20,0\n"))
    assert (read.hours["ghi_wm2"] == 0.0).all()
    assert by_day(read, "temp_c").min().tolist() == [-18.0, -20.0]


def test_zone_and_place_may_come_from_the_site(written: Write) -> None:
    path = written("day,tmax [C],tmin [C]\n2026-07-01,20,10\n")
    with pytest.raises(Refused, match="no time zone"):
        files.read(path)
    with pytest.raises(Refused, match="days without a place"):
        files.read(path, site_zone="Europe/Berlin")
    read = files.read(path, site_zone="Europe/Berlin", position=files.Position(52.1, 5.2))
    assert str(read.hours.index[0]) == "2026-06-30 22:00:00+00:00"
    assert (read.latitude_deg, read.longitude_deg) == (52.1, 5.2)
    with pytest.raises(Refused, match="latitude"):
        files.Position(95.0, 5.2)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (HEAD + "\n2026-07-01,10,20\n", "line 4, 2026-07-01, tmax and tmin: 10 and 20 °C"),
        (HEAD + "\n2026-07-01,75,20\n", "line 4, 2026-07-01, tmax: 75 C. Wanted: -60 to 60"),
        (HEAD + ",dew point [C]\n2026-07-01,20,10,21\n", "dew point not above tmax"),
        (
            HEAD + ",humidity max [%],humidity min [%]\n2026-07-01,20,10,40,60\n",
            "not above humidity",
        ),
        (HEAD + ",rain [mm]\n2026-07-01,20,10,-1\n", "rain: -1 mm"),
        (HEAD + ",radiation [MJ/m2]\n2026-07-01,20,10,326\n", "0 to 50 MJ/m²"),
        (HEAD + ",radiation [MJ/m2]\n2026-12-21,5,0,22\n", "with the sun of that day"),
        (HEAD + ",sunshine [h]\n2026-12-21,5,0,9\n", "sunshine: 9.0 h. Wanted: at most 8."),
        (HEAD + "\n2026-07-01,20,10\n2026-07-01,20,10\n", "line 5, day"),
        (HEAD + "\n2026-07-02,20,10\n2026-07-01,20,10\n", "days in order"),
        (HEAD + "\n2026-07-01,20,10\n2062-07-01,20,10\n", "at most 400 days"),
        (HEAD + "\n01.07.2026,20,10\n", "a day such as 2026-07-01"),
        (HEAD + "\n0001-01-01,20,10\n", "a day such as 2026-07-01"),
        (PLACE + "day [UTC],tmax [C]\n2026-07-01,20\n", "no column 'tmin'"),
        (PLACE + "day [UTC],tmax [C],tmn [C]\n2026-07-01,20,3\n", "Did you mean 'tmin'?"),
        (HEAD + ",wind [m/s]\n2026-07-01,20,10,3\n", "no height"),
        (HEAD + "\n2026-07-01,20\n", "cut off half-way"),
    ],
)
def test_what_is_wrong_is_said_in_one_sentence(written: Write, text: str, words: str) -> None:
    with pytest.raises(Refused) as refusal:
        files.read(written(text))
    assert words in str(refusal.value)
    assert not isinstance(refusal.value, ManyRefused)


def test_all_refused_days_are_listed(written: Write) -> None:
    text = HEAD + "\n2026-07-01,75,10\n2026-07-02,20,10\n2026-07-03,10,20\n"
    with pytest.raises(ManyRefused) as refusal:
        files.read(written(text))
    assert len(refusal.value.refusals) == 2


def test_spread_days_are_written_and_read_with_their_origin(written: Write, tmp_path: Path) -> None:
    before = one(written, ",rain [mm]", ",3.1")
    files.write_csv(before, tmp_path / "hours.csv")
    after = files.read(tmp_path / "hours.csv")
    pd.testing.assert_frame_equal(after.hours, before.hours, check_exact=True)
    assert not np.isnan(after.hours["rain_mm"]).any()
