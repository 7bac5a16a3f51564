"""What the page of the round shows, in the wording of `advisor morning`."""

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from itertools import groupby
from pathlib import Path
from threading import Lock
from zoneinfo import ZoneInfo

from advisor.cli.session import Session
from advisor.cli.working import opened, work_round
from advisor.errors import Refused
from advisor.garden.knowledge import Knowledge
from advisor.garden.records import Place
from advisor.garden.store import Garden
from advisor.jobs.judge import LOOK_FIRST, WATER_LATER, WATER_NOW
from advisor.jobs.morning import Round, TreeVerdict, potted
from advisor.show.moments import headline
from advisor.show.reasons import Words, beside_words, reasons
from advisor.show.wording import Leaning, bench_words, summary, verdict_words, weather_lines

#: A verdict as a class of the style sheet.
MARKS = {WATER_NOW: "now", WATER_LATER: "later", LOOK_FIRST: "look"}


@dataclass(frozen=True)
class Row:
    """One tree of the round."""

    label: str
    name: str
    mark: str
    verdict: str
    said: tuple[str, ...]
    watered: str  # when it was watered today


@dataclass(frozen=True)
class Bench:
    """One place of the round."""

    number: int
    name: str
    words: str
    rows: tuple[Row, ...]

    @property
    def due(self) -> list[Row]:
        """Those to be watered now."""
        return [row for row in self.rows if row.mark == "now"]


@dataclass(frozen=True)
class View:
    """The whole round."""

    head: str
    lines: tuple[str, ...]
    benches: tuple[Bench, ...]
    summary: str


@dataclass(frozen=True, eq=False)
class Worked:
    """A round that was worked out, or why it could not be."""

    round: Round | None
    leaning: Leaning | None
    knowledge: Knowledge
    at: datetime
    refusal: str = ""

    @property
    def zone(self) -> ZoneInfo:
        """The site's zone."""
        return self.knowledge.site.zone

    @cached_property
    def view(self) -> View:
        """The round as it is shown."""
        return view(self)


class Rounds:
    """The round as it stands, worked out once for all who ask for it at the same time."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._lock = Lock()
        self._kept: tuple[tuple[int, str], Worked] | None = None

    @property
    def path(self) -> Path:
        """The garden's file."""
        return self._session.path

    def now(self) -> Worked:
        """Give the round with everything that was told before this call."""
        with self._lock, opened(self.path) as garden:
            at = self._session.clock()
            key = (garden.revision(), f"{at:%Y-%m-%d %H:%M}")
            if self._kept is None or self._kept[0] != key:
                self._kept = (key, self._work(garden, at))
            return self._kept[1]

    @staticmethod
    def _work(garden: Garden, at: datetime) -> Worked:
        try:
            told, leaning = work_round(garden, at)
            return Worked(told, leaning, told.knowledge, at)
        except Refused as refused:
            return Worked(None, None, garden.knowledge(at), at, str(refused))


def view(worked: Worked) -> View:
    """Give the round as it is shown."""
    if worked.round is None or worked.leaning is None:
        return _plain(worked)
    words = Words(worked.round)
    benches = []
    for number, (place, those) in enumerate(groupby(worked.round.trees, lambda t: t.place)):
        trees = list(those)
        now = [tree for tree in trees if tree.verdict == WATER_NOW]
        name = _place_name(place)
        benches.append(Bench(number, name, bench_words(name, trees, now, words),
                             tuple(_row(tree, words, worked) for tree in trees)))
    return View(headline(worked.at, worked.zone),
                tuple(weather_lines(worked.round, worked.leaning, words)), tuple(benches),
                summary(worked.round, words) if worked.round.trees else "")


def _place_name(place: Place | None) -> str:
    return place.name if place else "no place told"


def _row(tree: TreeVerdict, words: Words, worked: Worked) -> Row:
    beside = [beside_words(each, words) for each in tree.also]
    tells = tree.verdict in MARKS or tree.recovery or tree.also
    return Row(tree.label, tree.name, MARKS.get(tree.verdict, "leave"),
               verdict_words(tree, words),
               (*(reasons(tree, words) if tells else ()), *beside),
               watered_today(worked.knowledge, tree.label, worked.at))


def watered_today(knowledge: Knowledge, label: str, at: datetime) -> str:
    """Give the time of the clock at which a tree was watered last today, or nothing."""
    zone = knowledge.site.zone
    today = at.astimezone(zone).date()
    told = [each.at.astimezone(zone) for each in knowledge.waterings[label] if each.at <= at]
    return f"{told[-1]:%H:%M}" if told and told[-1].date() == today else ""


def _plain(worked: Worked) -> View:
    """Give the trees in walking order where no round can be worked out, and why."""
    known = worked.knowledge
    labels = potted(known, worked.at)
    benches = []
    for number, (place, those) in enumerate(groupby(
            labels, lambda label: known.place_of(label, worked.at))):
        rows = tuple(Row(label, known.trees[label].name or known.trees[label].group, "leave", "",
                         (), watered_today(known, label, worked.at)) for label in those)
        name = _place_name(place)
        benches.append(Bench(number, name, name[:1].upper() + name[1:], rows))
    return View(headline(worked.at, worked.zone), (worked.refusal,), tuple(benches), "")
