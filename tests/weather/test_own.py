"""The own hourly file: what is read, what is refused, and that writing loses nothing."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import ManyRefused, Refused
from advisor.weather import files, own
from advisor.weather.series import Raw, Series, build, doubts

Write = Callable[[str], Path]

FULL = """# source: my own station
# licence: mine
# latitude: 52.1
# longitude: -5.25
# elevation: 12 m
# note: first
# note: second, with "quotes", and commas
hour [UTC],temp [C],dew point [C],humidity [%],wind 2m [km/h],radiation [W/m2],cloud [octas],\
rain [mm],pressure [hPa]
2026-07-01 05:00,14.2,11.9,,1.8,212,4,0,1013

2026-07-01 06:00,15.0,,80,,287,,0.4,
"""


def test_every_column_is_read(written: Write) -> None:
    read = files.read(written(FULL))
    hours = read.hours
    assert (read.source, read.licence) == ("my own station", "mine")
    assert read.notes == ("first", 'second, with "quotes", and commas')
    assert (read.latitude_deg, read.longitude_deg, read.elevation_m) == (52.1, -5.25, 12.0)
    assert [str(stamp) for stamp in hours.index] == [
        "2026-07-01 05:00:00+00:00",
        "2026-07-01 06:00:00+00:00",
    ]
    assert list(hours["temp_c"]) == [14.2, 15.0]
    # FAO-56 Eq. 11 by hand: e°(11.9) = 1.3933; .8 e°(15) = 1.3643
    assert list(hours["vapour_kpa"].round(4)) == [1.3933, 1.3643]
    assert hours["wind_ms"].iloc[0] == pytest.approx(0.5)
    assert np.isnan(hours["wind_ms"].iloc[1])
    assert hours["wind_height_m"].iloc[0] == 2.0
    assert hours["cloud_share"].iloc[0] == 0.5
    assert list(hours["rain_mm"]) == [0.0, 0.4]
    assert hours["pressure_kpa"].iloc[0] == pytest.approx(101.3)
    assert doubts(hours) == ()


def test_remarks_padded_and_quoted_by_a_spreadsheet_are_read(written: Write) -> None:
    text = '"# source: here, there",\n# latitude: 52.1,\nhour [UTC],temp [C]\n2026-07-01 05:00,14\n'
    read = files.read(written(text))
    assert (read.source, read.latitude_deg) == ("here, there", 52.1)


def test_the_end_of_the_hour_in_the_head_shifts_the_rows(written: Write) -> None:
    text = "hour end [Europe/Berlin],temp [C]\n2026-07-01 08:00,14\n"
    assert str(files.read(written(text)).hours.index[0]) == "2026-07-01 05:00:00+00:00"
    text = text.replace("hour end", "hour start")
    assert str(files.read(written(text)).hours.index[0]) == "2026-07-01 06:00:00+00:00"


@pytest.mark.parametrize(
    ("zone", "day", "count"),
    [
        ("Europe/Berlin", "2026-03-29", 23),
        ("Europe/Berlin", "2026-10-25", 25),
        ("America/New_York", "2026-03-08", 23),
        ("America/New_York", "2026-11-01", 25),
        ("Australia/Lord_Howe", "2026-10-04", 23.5),
        ("Australia/Lord_Howe", "2026-04-05", 24.5),
    ],
)
def test_a_local_day_with_a_change_of_clock_is_read_whole(
    written: Write, zone: str, day: str, count: float
) -> None:
    start = pd.Timestamp(day, tz=zone)
    end = start + pd.DateOffset(days=1)
    assert (end - start) / pd.Timedelta(hours=1) == count
    naive = [f"{day} {hour:02d}:00" for hour in range(24)]
    if zone != "Australia/Lord_Howe":  # there the clock steps by half an hour
        every = pd.date_range(start, end, freq="h", inclusive="left")
        naive = [f"{stamp:%Y-%m-%d %H:%M}" for stamp in every]
    elif count < 24:
        naive.remove(f"{day} 02:00")
    text = f"hour [{zone}],temp [C],rain [mm]\n" + "".join(f"{s},9,1\n" for s in naive)
    hours = files.read(written(text)).hours
    assert hours.index[0] == start.tz_convert("UTC").floor("h")
    assert hours.index[-1] + pd.Timedelta(hours=1) == end.tz_convert("UTC").ceil("h")
    assert hours["rain_mm"].sum() == pytest.approx(len(naive))
    assert hours["temp_c"].to_numpy() == pytest.approx(9.0)


HEAD = "hour [UTC],temp [C],wind 10m [m/s]\n"
ROW = "2026-07-01 05:00,14,1\n"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("hour [UTC],tmp [C]\n2026-07-01 05:00,14\n", "Did you mean 'temp'?"),
        ("hour [UTC],temp [degC]\n2026-07-01 05:00,14\n", "unit degC"),
        ("hour [UTC],temp [C],wind 10m [kmh]\n2026-07-01 05:00,1,1\n", "Did you mean 'km/h'?"),
        ("hour [UTC],temp\n2026-07-01 05:00,14\n", "Write the unit behind the name: 'temp [C]'."),
        ("hour [UTC],temp [C],wind [m/s]\n2026-07-01 05:00,14,1\n", "'wind 10m [m/s]'"),
        ("hour [UTC],temp [C],temp [F]\n2026-07-01 05:00,14,57\n", "each column once"),
        ("hour [UTC],rain [mm]\n2026-07-01 05:00,0\n", "no column 'temp'"),
        ("hour [Mars],temp [C]\n2026-07-01 05:00,14\n", "a name such as UTC"),
        ("hour,temp [C]\n2026-07-01 05:00,14\n", "05:00, without a zone. Wanted: a stamp whose"),
        ("hour of day [UTC],temp [C]\n2026-07-01 05:00,14\n", "'hour [UTC]' or"),
        ("hour [UTC];temp [C]\n2026-07-01 05:00;14\n", "semicolons"),
        (HEAD, "no rows below its head"),
        (HEAD + "2026-07-01 05:00,14,1,7\n", "line 2: 4 fields"),
        (HEAD + ROW + "2026-07-01 06:0", "cut off half-way"),
        (HEAD + "2026-07-01 05:00,14\n" + ROW.replace("05", "06"), "line 2: 2 fields"),
        (HEAD + "2026-07-01 05:00,warm,1\n", "line 2, temp: 'warm'"),
        (HEAD + "2026-07-01 05:00,1_4,1\n", "line 2, temp: '1_4'"),
        (HEAD + "2026-07-01 05:00,75,1\n", "line 2, temp: 75 C. Wanted: -60 to 60 °C"),
        (HEAD + "2026-07-01 05:00,14,-1\n", "line 2, wind: -1 m/s"),
        (HEAD + ROW + ROW, "line 3, hour: 2026-07-01T05:00Z, the same hour as the"),
        ("# latitude: north\n" + HEAD + ROW, "remark 'latitude': north"),
        ("date,max,min\n1,2,3\n", "not a weather file"),
        ("<html><body>404</body></html>\n", "not a weather file"),
        ("", "an empty file"),
        ("\n \n", "an empty file"),
    ],
)
def test_what_is_wrong_is_said_in_one_sentence(written: Write, text: str, words: str) -> None:
    with pytest.raises(Refused) as refusal:
        files.read(written(text))
    assert words in str(refusal.value)
    assert not isinstance(refusal.value, ManyRefused)


def test_all_refused_rows_are_listed_with_their_lines(written: Write) -> None:
    text = HEAD + ROW + "2026-07-01 06:00,75,1\n2026-07-01 07:00,14,-1\n"
    with pytest.raises(ManyRefused) as refusal:
        files.read(written(text))
    assert [str(one) for one in refusal.value.refusals] == [
        "line 3, temp: 75 C. Wanted: -60 to 60 °C. Check the number and its unit.",
        "line 4, wind: -1 m/s. Wanted: 0 to 60 m/s. Check the number and its unit.",
    ]


def test_binary_and_other_encodings_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR")
    with pytest.raises(Refused, match="a binary file"):
        files.read(path)
    path.write_bytes("hour [UTC],temp [°C]\n2026-07-01 05:00,14\n".encode("iso-8859-1"))
    with pytest.raises(Refused, match=r"line 1: a letter in another encoding.*UTF-8"):
        files.read(path)
    path.write_bytes("\ufeffhour [UTC],temp [°C]\r\n2026-07-01 05:00,14\r\n".encode())
    assert files.read(path).hours["temp_c"].iloc[0] == 14.0


def test_a_file_that_is_not_there_and_a_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(Refused, match="No such file"):
        files.read(tmp_path / "none.csv")
    with pytest.raises(Refused, match="directory"):
        files.read(tmp_path)


def test_a_last_line_without_an_end_is_told(written: Write) -> None:
    read = files.read(written(HEAD + ROW.strip()))
    assert "no line end" in read.notes[0]


@st.composite
def weather(draw: st.DrawFn) -> Series:
    length = draw(st.integers(1, 12))

    def column(low: float, high: float) -> list[float]:
        values = st.one_of(st.just(np.nan), st.floats(low, high))
        return draw(st.lists(values, min_size=length, max_size=length))

    index = pd.date_range("2026-07-01T05:00Z", periods=length, freq="h")
    frame = pd.DataFrame(
        {
            "temp_c": column(-60, 60),
            "humidity_pct": column(0, 110),
            "wind_ms": column(0, 70),
            "wind_height_m": draw(
                st.one_of(
                    st.just([2.5] * length),
                    st.lists(st.floats(0.5, 100), min_size=length, max_size=length),
                )
            ),
            "ghi_wm2": column(0, 1600),
            "cloud_share": column(0, 1),
            "rain_mm": column(0, 150),
            "pressure_kpa": column(45, 110),
        },
        index=index,
    )
    origin = draw(st.sampled_from(["file", "measured", "spread from the day"]))
    words = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), max_size=12)
    notes = tuple(draw(st.lists(words, max_size=2)))
    return Series(
        build(Raw(frame, origin=origin, bad="set aside")),
        "s" + draw(words),
        "l" + draw(words),
        tuple(f"n{note}" for note in notes),
        draw(st.one_of(st.none(), st.floats(-90, 90))),
        None,
        12.5,
    )


@settings(max_examples=60, deadline=None)
@given(weather())
def test_writing_and_reading_give_the_same_series(
    tmp_path_factory: pytest.TempPathFactory, before: Series
) -> None:
    path = tmp_path_factory.mktemp("round") / "weather.csv"
    own.write_csv(before, path)
    after = files.read(path)
    pd.testing.assert_frame_equal(after.hours, before.hours, check_exact=True)
    assert (after.source, after.licence, after.notes) == (
        before.source,
        before.licence,
        before.notes,
    )
    assert (after.latitude_deg, after.longitude_deg, after.elevation_m) == (
        before.latitude_deg,
        before.longitude_deg,
        before.elevation_m,
    )


def test_a_file_cut_anywhere_is_refused_or_read_but_never_breaks(tmp_path: Path) -> None:
    index = pd.date_range("2026-07-01T05:00Z", periods=600, freq="h")
    frame = pd.DataFrame({"temp_c": 10.25, "rain_mm": 0.5, "ghi_wm2": 123.0}, index=index)
    path = tmp_path / "weather.csv"
    own.write_csv(Series(build(Raw(frame)), "s"), path)
    whole = path.read_bytes()
    refused = 0
    cuts = [*range(0, 120), *range(1000, len(whole), 1000)]
    for cut in cuts:
        path.write_bytes(whole[:cut])
        try:
            read = files.read(path)
        except Refused:
            refused += 1
        else:
            assert len(read.hours) < 600
            assert read.notes or whole[cut - 1 : cut] == b"\n"
    assert refused > len(cuts) / 2
