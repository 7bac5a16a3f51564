"""A helper's sheet put together by hand."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from advisor.show.sheet import Sheet, SheetPot, SheetVisit

BERLIN = ZoneInfo("Europe/Berlin")
MADE = datetime(2026, 7, 10, 9, 0, tzinfo=BERLIN)
NAMES = ("Schwarzkiefer", "Fächerahorn", "Wacholder mit Totholz", "Zwergmispel", "Süßkirsche",
         "Hainbuche, Wald aus neun Stämmen auf einer sehr langen und sehr flachen Schieferplatte")
PLACES = ("south bench", "north wall", "Lärchenstand hinter dem Gewächshaus")


def pot(i: int, many: int = 12) -> SheetPot:
    return SheetPot(f"{i + 1}", NAMES[i % len(NAMES)], PLACES[i * len(PLACES) // many],
                    0.15 + 0.37 * (i % 7), "the top is dry to the second knuckle" if i == 2 else
                    None, "B" if i % 5 == 0 else ("BR" if i % 7 == 3 else ""))


def sheet(many: int = 12, visits: int = 3, **more) -> Sheet:
    """Make a sheet of so many pots, each second one at every other visit."""
    start = datetime(2026, 7, 11, 8, 0, tzinfo=BERLIN)
    pots = [pot(i, many) for i in range(many)]
    made = [SheetVisit(start + timedelta(days=2 + 3 * v, hours=11),
                       tuple(each for i, each in enumerate(pots) if (i * v) % 2 == 0), 35.0)
            for v in range(visits)]
    told = {"garden": "Garten Müller-Lüdenscheidt", "start": start,
            "until": start + timedelta(days=16), "zone": BERLIN, "visits": tuple(made),
            "can_l": 8.0, "phone": "+49 170 0000000", "recovering": tuple(pots[2:6:3]),
            "hot_rule": "On a day over 30 °C, come that evening and water the pots marked B.",
            "rain_rule": "Skip the pots marked R if the gauge shows over 12 mm."}
    return Sheet(**(told | more))
