"""Good files, answers, options and forms, from which the bad ones are made."""

import json
import re
from functools import cache
from pathlib import Path
from typing import Any

import pvlib
import services_made as made
import sunny
from mishaps_made import TICK, WRITING
from weather.conftest import EPW_HEAD, epw_row

from advisor.garden.knowledge import Knowledge
from advisor.garden.spreadsheet import trees_text
from advisor.weather.station import Column, Layout

TYPICAL_HOURS = 48
ISSUED = made.START + 2 * made.HOUR


def hourly(*, short: bool = False) -> list[bytes]:
    """The tool's own hours, in several units, zones and ways of writing."""
    rows = "\n".join(f"2026-06-30 {hour:02d}:00,{14 + hour},11,2.5,{60 * max(hour - 3, 0)},0"
                     for hour in range(4 if short else 12))
    metric = f"# source: mine\n# latitude: 52.1\n# longitude: 13.2\n{sunny.HEAD}\n{rows}\n"
    if short:
        return [metric.encode()]
    other = ("hour end [Europe/Berlin],temp [F],humidity [%],wind [km/h],wind height [m],"
             "cloud [octas],rain [in],pressure [hPa],temp from\n"
             "2026-10-25 01:00,50,71,8,2,4,0.1,1009,measured\n"
             "2026-10-25 02:00,51,72,8,2,4,,1009,\n2026-10-25 02:00,52,73,NA,2,8,0,,\n"
             "2026-10-25 03:00,53,74,9,10,8,0,1008,between neighbours\n")
    offsets = ("hour,temp [K],vapour [kPa],radiation [kWh/m2]\n"
               "2026-07-01T05:00+02:00,290.1,1.2,0.1\n2026-07-01T06:00+02:00,291,1.2,0.2\n"
               "2026-07-01T09:00+02:00,292,1.2,0.3\n")
    return [metric.encode(), other.encode(), offsets.encode(), b"\xef\xbb\xbf" + metric.encode()]


def daily() -> list[bytes]:
    """The tool's own days."""
    plain = ("# latitude: 52.1\n# longitude: 5.2\nday [Europe/Berlin],tmax [C],tmin [C],"
             "dew point [C],wind 10m [m/s],sunshine [h],rain [mm]\n"
             "2026-07-01,24.1,12.3,11.0,2.4,9.5,0\n2026-07-02,22,13,11,3,2,11\n")
    other = ("day,tmax [F],tmin [F],humidity max [%],humidity min [%],wind 2m [km/h],"
             "radiation [J/cm2],rain [in]\n2026-03-28,60,40,90,40,10,1200,0\n"
             "2026-03-29,61,41,90,41,11,1300,0.1\n2026-03-31,62,,,,12,,\n")
    return [plain.encode(), other.encode()]


@cache
def typical() -> tuple[bytes, ...]:
    """The first two days of a TMY3 file, and two of an EPW file made up."""
    data = Path(pvlib.__file__).parent / "data"
    found = []
    for name in ("723170TYA.CSV", "703165TY.csv"):
        lines = (data / name).read_bytes().splitlines(keepends=True)
        found.append(b"".join(lines[:2 + TYPICAL_HOURS]))
    rows = [epw_row(2003, 1, 1 + hour // 24, 1 + hour % 24, {}) for hour in range(TYPICAL_HOURS)]
    return (*found, (EPW_HEAD + "\n".join(rows) + "\n").encode())


#: how the two stations write
LAYOUTS = (
    Layout("time", (Column("Out temp", "temp_c", "°C"), Column("Rain", "rain_mm", "mm")),
           rain="counter"),
    Layout("Zeit", (Column("Temperatur", "temp_c", "°C"), Column("Feuchte", "humidity_pct", "%"),
                    Column("Wind", "wind_ms", "km/h"), Column("Regen", "rain_mm", "mm")),
           "Europe/Berlin", "%d.%m.%Y %H:%M", wind_height_m=2.0, decimal_comma=True))


def station() -> list[bytes]:
    """The files of two stations."""
    plain = "time,Out temp,Rain\n" + "".join(
        f"2026-07-01 {5 + n // 4:02d}:{15 * (n % 4):02d},{14 + n / 4},{n / 10}\n"
        for n in range(16))
    other = ("Zeit;Temperatur;Feuchte;Wind;Regen;Batterie\n"
             "01.07.2026 08:00;21,5;60;18,0;0,4;3,1\n01.07.2026 09:00;20,0;50;9,0;---;leer\n"
             "01.07.2026 10:00;20,5;51;9,1;0;3,0\n")
    return [plain.encode(), other.encode()]


def answers() -> list[bytes]:
    """An answer of each service; its first line says whose it is."""
    ensemble = made.open_meteo()
    for name in ("temperature_2m", "precipitation"):
        ensemble["hourly"][f"{name}_member01"] = ensemble["hourly"][name]
        ensemble["hourly_units"][f"{name}_member01"] = ensemble["hourly_units"][name]
    days = ["20260601", "20260602"]
    figures: dict[str, Any] = {"T2M_MAX": ([20.0, 21.0], "C"), "T2M_MIN": ([9.0, 10.0], "C"),
                               "T2MDEW": ([8.0, 8.0], "C"), "WS2M": ([2.0, 3.0], "m/s"),
                               "PRECTOTCORR": ([0.0, 4.0], "mm/day"),
                               "ALLSKY_SFC_SW_DWN": ([20.0, 18.0], "MJ/m^2/day")}
    six = [made.met_step(made.START + 6 * k * made.HOUR,
                         {"air_temperature": 10.0 + k, "relative_humidity": 70.0},
                         six={"air_temperature_max": 15.0, "air_temperature_min": 9.0,
                              "precipitation_amount": 1.0}) for k in range(4)]
    told = {"open-meteo forecast": made.open_meteo(),
            "open-meteo archive": made.open_meteo(us=True),
            "open-meteo ensemble": ensemble, "met-norway forecast": made.met_norway(),
            "met-norway  forecast": made.met_document(six),
            "bright-sky archive": made.bright_sky(),
            "bright-sky forecast": made.bright_sky(kind="forecast"),
            "power hourly": made.power_hours(), "power  hourly": made.power_hours(community="re"),
            "power daily": made.power_document(days, figures)}
    return [f"{name}\n".encode() + made.body(document) for name, document in told.items()]


def parted(data: bytes) -> tuple[str, Any, bytes]:
    """Give service, interface and body of an answer; of any other input those of the first."""
    first, _, body = data.partition(b"\n")
    words = first.decode("utf-8", errors="replace").split()
    if len(words) == 2 and words[0] in ("open-meteo", "met-norway", "bright-sky", "power"):
        return words[0], words[1], body
    return "open-meteo", "forecast", data


def replies() -> list[bytes]:
    """What servers say: status, headers, body."""
    told = [
        [200, {"Expires": "Wed, 01 Jul 2026 06:00:00 GMT",
               "Last-Modified": "Wed, 01 Jul 2026 04:00:00 GMT"}, '{"hourly": {}}'],
        [304, {"Expires": "Fri, 31 Dec 9999 23:59:59 GMT"}, ""],
        [429, {"Retry-After": "120"}, '{"reason": "slow down"}'],
        [503, {"Retry-After": "Wed, 01 Jul 2026 06:00:00 GMT"}, "<html>"],
        [302, {"Location": "https://example.org/b?c=1"}, ""],
        [422, {}, '{"messages": ["no such place"], "errors": {"a": 1}}']]
    return [json.dumps(each).encode() for each in told]


def reply(data: bytes) -> tuple[int, dict[str, str], bytes] | None:
    """Give status, headers and body as a connection would hand them over; else None."""
    try:
        status, headers, body = json.loads(data)
        kept = {str(name): str(value) for name, value in headers.items()}
        return int(status), kept, str(body).encode("utf-8", errors="replace")
    except (ValueError, TypeError, AttributeError, RecursionError, OverflowError):
        return None


def trees(known: Knowledge) -> list[bytes]:
    """The list of trees as it is written out, and as spreadsheets write it."""
    text = trees_text(known)
    comma = ("label;group;crown width [cm];outside length [in];outside width [in];"
             "outside height [in];place;potted;mix;soil depth [cm];limit [share]\n"
             "21;pine;40,5;13,8;10;2,5;wall;2026-03-15;third;5,5;30 %\n"
             "22;maple;;;;;south bench;;;;\n")
    return [text.encode(), comma.encode(), text.replace(",", "\t").encode("utf-16")]


def value_types() -> list[Any]:
    """Give every kind of value an option takes."""
    from advisor.cli import rounds, values, weather_own, weather_station

    return [values.Number(), values.Whole(), values.Share(), values.Quantity("litres", "L"),
            values.Quantity("length_mm", "mm"), values.Quantity("weight_kg", "kg"),
            values.Quantity("rain_day_mm", "mm"), values.Sizes(3), values.Sizes(2, "cm"),
            values.Word("wind", ("open", "half", "sheltered")), values.YesNo(), values.Clock(),
            values.Hours(), values.Skyline(), values.Part(), values.Day(), rounds.Days(),
            weather_own.Temperature(), weather_station.Told()]


def options() -> list[bytes]:
    """One text of each kind that options take."""
    return [text.encode() for text in (
        "2.5", "42", "0.3", "30 %", "6 cm", "1.2 gal", "6.42 kg", "350x250x60", "35 x 25 x 6 cm",
        "45x40", "open", "yes", "7:00", "6-20", "6:30-20:15", "all day", "90:20,180:5", "none",
        "akadama 2-5=40%", "2026-07-11", "2026-07-01T07:00", "2026-07-01T07:00+02:00", "07:00",
        "2026-10-25T02:30", "monday 08:00", "yesterday 18:30", "sat", "mon,thu", "every day",
        "-4.2", "25 °F", "Out temp=temperature °C", "3,11", "south bench", "all", "2,wall",
        "black pine")]


#: Commands whose words are changed: those that name no file and ask nobody on the network.
ENTERED = [line for name, line in WRITING.items() if "{" not in "".join(line)
           and line[0] != TICK and name not in ("weather get", "weather past", "away")]
MORE = (
    ("watered", "south bench", "--but", "10", "--litres", "0.5", "--at", "06:30"),
    ("reading", "2", "--weight", "6.42", "--give-or-take", "0.01", "--note", "wind"),
    ("reading", "3", "--feels", "moist", "--at-depth", "20"),
    ("reading", "10", "--ran-after", "1.2", "--since", "monday 05:00"),
    ("add", "place", "roof", "--sun-june", "6-20", "--horizon", "90:20,180:5", "--wind", "open",
     "--shade", "30%", "--position", "2"),
    ("repotted", "3", "--mix", "third", "--roots", "half bare", "--outside", "320x240x60",
     "--outline", "oval", "--soil-depth", "50", "--at", "2026-06-20"))


def _command(line: tuple[str, ...]) -> int:
    """Count the words that name a command."""
    return 2 if line[0] in ("add", "rainwater", "mix", "weather") else 1


ENTERING = {line[:_command(line)] for line in ENTERED}


def lines() -> list[bytes]:
    """Command lines that enter something: the command, then a word a line."""
    return ["\n".join([" ".join(line[:_command(line)]), *line[_command(line):]]).encode()
            for line in (*ENTERED, *MORE)]


@cache
def garden(folder: Path) -> Path:
    """Make the garden of the commands' tests."""
    from cli.conftest import Grower

    grower = Grower(folder / "good.db")
    for line in (
        ("start", "--latitude", "52.1", "--longitude", "13.2", "--elevation", "40",
         "--time-zone", "Europe/Berlin", "--at", "2026-03-01T09:00"),
        ("add", "place", "south bench"), ("add", "place", "wall", "--wind", "sheltered"),
        ("add", "mix", "third", "--part", "akadama=40", "--part", "pumice=30", "--part",
         "lava=30"),
        *(("add", "tree", label, "--group", group, "--place", place, "--outside", "350x250x60",
           "--potted", "2026-03-15") for label, group, place in (
            ("10", "black pine", "south bench"), ("2", "maple", "south bench"),
            ("3", "larch", "wall"))),
        ("rainwater", "butt", "main", "--litres", "200")):
        grower.tell(*line)
    return grower.path


def forms() -> list[bytes]:
    """What a phone sends: where, fields, headers."""
    identifier = "abcdefgh12345678"
    told = [
        ["/watered", {"tree": "3", "identifier": identifier}, {"X-Page": "script"}],
        ["/watered", {"bench": "1", "of-1": ["3", "2"], "identifier": "b" * 20, "ago": "60"}, {}],
        ["/watered", {"listed": "1", "due-1": "3\n10"}, {}], ["/watered", {"nothing": "1"}, {}],
        ["/undo", {"entry": "9", "from": "round"}, {}],
        ["/tell/watered", {"label": "3", "told-litres": "0.5"}, {"X-Page": "script"}],
        ["/tell/reading", {"label": "2", "told-dry-depth": "12", "told-note": "wind"}, {}],
        ["/tell/reading", {"label": "3", "told-feels": "moist", "told-at-depth": "20",
                           "ago": "3600"}, {"X-Page": "script"}]]
    return [json.dumps(each).encode() for each in told]


def form(data: bytes) -> tuple[str, dict[str, Any], dict[str, str]] | None:
    """Give where a form goes, its fields and its headers; None where it is no form."""
    try:
        where, fields, headers = json.loads(data)
        if where not in ("/watered", "/undo", "/tell/watered", "/tell/reading"):
            return None
        sent = {str(name): [str(each) for each in value] if isinstance(value, list) else str(value)
                for name, value in fields.items() if name != "token"}
        kept = {"Host": "localhost"} | ({"X-Page": "script"} if "X-Page" in headers else {})
        return where, _plain(sent), kept
    except (ValueError, TypeError, AttributeError, RecursionError):
        return None


def _plain(sent: dict[str, Any]) -> dict[str, Any]:
    """Leave out what no browser can send."""
    return json.loads(json.dumps(sent).encode("utf-8", errors="replace"))


def token_of(client: Any) -> str:
    """Read the token off the first page."""
    text = client.get("/", headers={"Host": "localhost"}).text
    found = re.search(r'name="token" content="(\w+)"', text)
    assert found
    return found[1]
