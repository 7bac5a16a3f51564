"""The tables of a garden file, as the migrations that made them, in order.

A migration is never edited once released: a change is a new one at the end of the list.
The number of migrations applied stands in the file (`user_version`).

    entry        one row a command; every row of a record names its entry
    undone       entries taken back
    site … walk  what the grower told; rows are only ever added
    weather_source, weather, weather_block, weather_origin   what was imported, rows by the hour
                 or one block a source; rows are only ever added
    gauge … setting   what the grower told of own instruments and services; rows are only ever added
    emptypot … buttlevel   empty pots, mixes weighed, roofs and butts; rows are only ever added
    awayplan     plans of visits; rows are only ever added
    tick         entries told with an identifier, so that one told twice counts once
    sealed       sums over the rows of the tables above, by which a changed byte is found
    answer       the last answer of each service; replaced by the next
    site_day … projection   derived; can be emptied and rebuilt, giving the same numbers
"""

import sqlite3
from collections.abc import Sequence

from advisor.errors import Refused

#: Marks a file as a garden ("Watr").
APPLICATION_ID = 0x57617472

WEATHER_VALUES = ("temp_c", "vapour_kpa", "wind_ms", "wind_height_m", "ghi_wm2", "cloud_share",
                  "rain_mm", "pressure_kpa")
#: Tables that `Garden.drop_derived` empties.
DERIVED = ("site_day", "place_hours", "belief", "projection", "derived_from")

Migration = tuple[str, ...]

_KEPT = ("entry", "undone", "site", "place", "mix", "tree", "potting", "move", "watering",
         "event", "rounds", "weather_source", "weather", "weather_origin")
_RECORD = "id INTEGER PRIMARY KEY AUTOINCREMENT, entry INTEGER NOT NULL REFERENCES entry(id)"


def _only_added(table: str) -> Migration:
    return tuple(
        f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, 'rows of {table} are only ever added'); END"
        for verb in ("UPDATE", "DELETE")
    )


_FIRST: Migration = (
    """CREATE TABLE entry (
        id INTEGER PRIMARY KEY AUTOINCREMENT, made_at INTEGER NOT NULL, words TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE undone (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        entry INTEGER NOT NULL UNIQUE REFERENCES entry(id), made_at INTEGER NOT NULL
    ) STRICT""",
    f"""CREATE TABLE site (
        {_RECORD}, latitude_deg REAL NOT NULL, longitude_deg REAL NOT NULL,
        elevation_m REAL NOT NULL, time_zone TEXT NOT NULL
    ) STRICT""",
    f"""CREATE TABLE place (
        {_RECORD}, name TEXT NOT NULL, position INTEGER NOT NULL, wind TEXT NOT NULL,
        ground TEXT NOT NULL, grouped INTEGER NOT NULL, rain_factor REAL NOT NULL,
        shade REAL NOT NULL, sun_june TEXT, sun_september TEXT, horizon TEXT NOT NULL
    ) STRICT""",
    f"""CREATE TABLE mix (
        {_RECORD}, name TEXT NOT NULL, parts TEXT NOT NULL, measured_capacity REAL,
        measured_depth_mm REAL, measured_density_kgl REAL
    ) STRICT""",
    f"""CREATE TABLE tree (
        {_RECORD}, label TEXT NOT NULL, "group" TEXT NOT NULL, name TEXT NOT NULL,
        crown_width_cm REAL, crown_depth_cm REAL, density TEXT NOT NULL, bears TEXT,
        "limit" REAL, chance REAL, must_not_lose INTEGER NOT NULL
    ) STRICT""",
    f"""CREATE TABLE potting (
        {_RECORD}, tree TEXT NOT NULL, at INTEGER NOT NULL, mix TEXT NOT NULL,
        form TEXT NOT NULL, outline TEXT NOT NULL, outside_mm TEXT, inside_mm TEXT,
        soil_depth_mm REAL, litres REAL, base_share REAL NOT NULL, mound_mm REAL NOT NULL,
        wall TEXT NOT NULL, drainage_mm REAL NOT NULL, drainage_grain_mm REAL NOT NULL,
        rock_share REAL NOT NULL, ball_mix TEXT, ball_share REAL NOT NULL,
        condition TEXT NOT NULL, dressing TEXT NOT NULL, enters TEXT NOT NULL,
        root_work TEXT NOT NULL, collected INTEGER NOT NULL, watered_in INTEGER NOT NULL,
        target_mm REAL, recovery_days INTEGER
    ) STRICT""",
    f"""CREATE TABLE move (
        {_RECORD}, tree TEXT NOT NULL, at INTEGER NOT NULL, place TEXT NOT NULL
    ) STRICT""",
    f"""CREATE TABLE watering (
        {_RECORD}, tree TEXT NOT NULL, at INTEGER NOT NULL, litres REAL,
        until_ran INTEGER NOT NULL
    ) STRICT""",
    f"""CREATE TABLE event (
        {_RECORD}, tree TEXT NOT NULL, at INTEGER NOT NULL, kind TEXT NOT NULL,
        amount TEXT NOT NULL
    ) STRICT""",
    f"""CREATE TABLE rounds (
        {_RECORD}, season TEXT NOT NULL, times TEXT NOT NULL, weekdays TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE weather_source (
        id INTEGER PRIMARY KEY AUTOINCREMENT, made_at INTEGER NOT NULL, name TEXT NOT NULL,
        words TEXT NOT NULL, licence TEXT NOT NULL, digest TEXT NOT NULL, issued_at INTEGER,
        latitude_deg REAL, longitude_deg REAL, elevation_m REAL
    ) STRICT""",
    """CREATE TABLE weather_origin (
        id INTEGER PRIMARY KEY AUTOINCREMENT, words TEXT NOT NULL UNIQUE
    ) STRICT""",
    """CREATE TABLE weather (
        hour INTEGER NOT NULL, source INTEGER NOT NULL REFERENCES weather_source(id),
        temp_c REAL, vapour_kpa REAL, wind_ms REAL, wind_height_m REAL, ghi_wm2 REAL,
        cloud_share REAL, rain_mm REAL, pressure_kpa REAL,
        origin INTEGER NOT NULL REFERENCES weather_origin(id),
        PRIMARY KEY (hour, source)
    ) STRICT, WITHOUT ROWID""",
    """CREATE TABLE site_day (
        date TEXT PRIMARY KEY, tmax_c REAL, tmin_c REAL, tmean_c REAL, rain_mm REAL,
        et0_mm REAL, rules TEXT NOT NULL, first_hour INTEGER NOT NULL, n_hours INTEGER NOT NULL
    ) STRICT, WITHOUT ROWID""",
    """CREATE TABLE place_hours (
        place TEXT PRIMARY KEY, first_hour INTEGER NOT NULL, numbers BLOB NOT NULL
    ) STRICT""",
    """CREATE TABLE belief (
        tree TEXT NOT NULL, midnight INTEGER NOT NULL, digest TEXT NOT NULL,
        numbers BLOB NOT NULL, PRIMARY KEY (tree, midnight)
    ) STRICT""",
    """CREATE TABLE projection (
        tree TEXT PRIMARY KEY, start_hour INTEGER NOT NULL, hours INTEGER NOT NULL,
        digest TEXT NOT NULL, revision INTEGER NOT NULL, numbers BLOB NOT NULL
    ) STRICT""",
    "CREATE TABLE derived_from (what TEXT PRIMARY KEY, digest TEXT NOT NULL) STRICT",
    *(statement for table in _KEPT for statement in _only_added(table)),
)

_UNCHANGING = "weather_source_no_update"  # lifted while the kinds of old sources are told

_SECOND: Migration = (
    "ALTER TABLE weather_source ADD COLUMN kind TEXT NOT NULL DEFAULT 'file'",
    "ALTER TABLE weather_source ADD COLUMN member INTEGER",
    "ALTER TABLE weather_source ADD COLUMN attribution TEXT NOT NULL DEFAULT ''",
    f"DROP TRIGGER {_UNCHANGING}",
    "UPDATE weather_source SET kind = 'forecast' WHERE issued_at IS NOT NULL",
    _only_added("weather_source")[0],
    """CREATE TABLE weather_block (
        source INTEGER PRIMARY KEY REFERENCES weather_source(id), first_hour INTEGER NOT NULL,
        last_hour INTEGER NOT NULL, numbers BLOB NOT NULL
    ) STRICT""",
    f"""CREATE TABLE gauge (
        {_RECORD}, start INTEGER NOT NULL, "end" INTEGER NOT NULL, mm REAL NOT NULL
    ) STRICT""",
    f"""CREATE TABLE thermometer (
        {_RECORD}, start INTEGER NOT NULL, "end" INTEGER NOT NULL, tmin_c REAL NOT NULL,
        tmax_c REAL NOT NULL
    ) STRICT""",
    f"""CREATE TABLE station (
        {_RECORD}, name TEXT NOT NULL, columns TEXT NOT NULL
    ) STRICT""",
    f"""CREATE TABLE setting (
        {_RECORD}, "key" TEXT NOT NULL, value TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE answer (
        service TEXT NOT NULL, request TEXT NOT NULL, tried_at INTEGER NOT NULL,
        fetched_at INTEGER, fresh_until INTEGER NOT NULL, expires TEXT NOT NULL,
        last_modified TEXT NOT NULL, status INTEGER, error TEXT NOT NULL, note TEXT NOT NULL,
        digest TEXT NOT NULL, body BLOB, PRIMARY KEY (service, request)
    ) STRICT, WITHOUT ROWID""",
    *(statement for table in ("weather_block", "gauge", "thermometer", "station", "setting")
      for statement in _only_added(table)),
)

_THIRD: Migration = (
    f"""CREATE TABLE reading (
        {_RECORD}, tree TEXT NOT NULL, at INTEGER NOT NULL, kind TEXT NOT NULL, value REAL,
        word TEXT NOT NULL, depth_mm REAL, sd REAL, since INTEGER, note TEXT NOT NULL
    ) STRICT""",
    f"CREATE TABLE walk ({_RECORD}, at INTEGER NOT NULL) STRICT",
    *(statement for table in ("reading", "walk") for statement in _only_added(table)),
)

_FOURTH: Migration = (
    "ALTER TABLE mix ADD COLUMN measured_k_c_cmh REAL",
    "ALTER TABLE mix ADD COLUMN measured_sd REAL",
    "ALTER TABLE mix ADD COLUMN measured_sd_ln_k_c REAL",
    "ALTER TABLE mix ADD COLUMN measured_vapour_depth_mm REAL",
    f"""CREATE TABLE emptypot (
        {_RECORD}, name TEXT NOT NULL, outside_mm TEXT NOT NULL, form TEXT NOT NULL,
        outline TEXT NOT NULL, wall TEXT NOT NULL, soil_depth_mm REAL, base_share REAL NOT NULL,
        gone INTEGER NOT NULL
    ) STRICT""",
    f"""CREATE TABLE container (
        {_RECORD}, mix TEXT NOT NULL, at INTEGER NOT NULL, litres REAL NOT NULL,
        depth_mm REAL NOT NULL, empty_g REAL NOT NULL, outdoors INTEGER NOT NULL
    ) STRICT""",
    f"""CREATE TABLE mixweight (
        {_RECORD}, mix TEXT NOT NULL, at INTEGER NOT NULL, kind TEXT NOT NULL, grams REAL NOT NULL
    ) STRICT""",
    f"""CREATE TABLE rainroof (
        {_RECORD}, name TEXT NOT NULL, area_m2 REAL NOT NULL, covering TEXT NOT NULL,
        first_flush_mm REAL NOT NULL, gone INTEGER NOT NULL
    ) STRICT""",
    f"""CREATE TABLE rainbutt (
        {_RECORD}, name TEXT NOT NULL, litres REAL NOT NULL, height_mm REAL, gone INTEGER NOT NULL
    ) STRICT""",
    f"""CREATE TABLE buttlevel (
        {_RECORD}, at INTEGER NOT NULL, litres REAL NOT NULL, sd_l REAL NOT NULL
    ) STRICT""",
    *(statement for table in ("emptypot", "container", "mixweight", "rainroof", "rainbutt",
                              "buttlevel") for statement in _only_added(table)),
)

_FIFTH: Migration = (
    f"""CREATE TABLE awayplan (
        {_RECORD}, at INTEGER NOT NULL, document TEXT NOT NULL
    ) STRICT""",
    *_only_added("awayplan"),
)

_SIXTH: Migration = (
    """CREATE TABLE tick (
        identifier TEXT PRIMARY KEY, entry INTEGER NOT NULL REFERENCES entry(id)
    ) STRICT, WITHOUT ROWID""",
    *_only_added("tick"),
)

_SEVENTH: Migration = (
    """CREATE TABLE sealed (
        name TEXT PRIMARY KEY, last INTEGER NOT NULL, sum INTEGER NOT NULL
    ) STRICT, WITHOUT ROWID""",
)

MIGRATIONS: tuple[Migration, ...] = (_FIRST, _SECOND, _THIRD, _FOURTH, _FIFTH, _SIXTH, _SEVENTH)
#: Tables whose rows bear a sum (`advisor.garden.seal`): all that are told but hours of weather,
#: and the format that brought the sums.
SEALED = ("entry", "undone", "site", "place", "mix", "tree", "potting", "move", "watering", "event",
          "rounds", "weather_source", "weather_origin", "gauge", "thermometer", "station",
          "setting", "reading", "walk", "emptypot", "container", "mixweight", "rainroof",
          "rainbutt", "buttlevel", "awayplan")
SEALED_SINCE = 7


def version(connection: sqlite3.Connection) -> int:
    """Give the number of migrations applied to an open file."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def refuse_newer(found: int, known: int, where: str) -> None:
    """Refuse a file that holds more migrations than this version knows.

    Raises
    ------
    Refused
        `found` is larger than `known`.
    """
    if found > known:
        raise Refused(f"garden file {where}", f"format {found}",
                      f"made by a newer version; this one knows formats up to {known}",
                      "Update the program, or name another file with --garden.")


def refuse_older(
    connection: sqlite3.Connection, where: str, migrations: Sequence[Migration]
) -> None:
    """Refuse a file that must be brought up to date before it can be read.

    Raises
    ------
    Refused
        It lacks migrations, or was made by a newer version.
    """
    found = version(connection)
    refuse_newer(found, len(migrations), where)
    if found < len(migrations):
        raise Refused(f"garden file {where}", f"format {found}",
                      f"this version reads format {len(migrations)}",
                      "Open it for writing once: any entry brings it up to date.")


def migrate(
    connection: sqlite3.Connection, where: str, migrations: Sequence[Migration]
) -> int:
    """Apply the migrations a file still lacks, each in a transaction of its own.

    Parameters
    ----------
    connection : sqlite3.Connection
        Open for writing, in autocommit mode.
    where : str
        The file, for messages.
    migrations : sequence of tuple of str
        All statements of every migration ever, in order.

    Returns
    -------
    int
        How many were applied here.

    Raises
    ------
    Refused
        The file was made by a newer version.
    sqlite3.Error
        A statement failed; that migration left nothing behind.
    """
    applied = 0
    for number, statements in enumerate(migrations, start=1):
        if version(connection) < number:
            applied += _apply(connection, number, statements)
    refuse_newer(version(connection), len(migrations), where)
    return applied


def _apply(connection: sqlite3.Connection, number: int, statements: Migration) -> bool:
    connection.execute("BEGIN IMMEDIATE")
    try:
        lacking = version(connection) < number  # another process may have been first
        if lacking:
            for statement in statements:
                connection.execute(statement)
            if number > SEALED_SINCE:
                connection.execute("DELETE FROM sealed")  # columns may be others now
            connection.execute(f"PRAGMA user_version = {number}")
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
    return lacking
