"""What the page of the round shows, in the wording of `advisor morning`."""

from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import cached_property
from itertools import groupby
from pathlib import Path
from threading import Lock
from zoneinfo import ZoneInfo

from advisor.cli.shelf import Shelf
from advisor.cli.working import settle, work_later, work_round
from advisor.errors import Refused
from advisor.garden.knowledge import Knowledge
from advisor.garden.looked import Identity, Mark
from advisor.garden.records import Place
from advisor.garden.store import Garden
from advisor.jobs.judge import LOOK_FIRST, WATER_LATER, WATER_NOW
from advisor.jobs.morning import Round, TreeVerdict, potted
from advisor.page.gardens import PageSession
from advisor.show.moments import headline
from advisor.show.reasons import Words, beside_words, reasons
from advisor.show.wording import Leaning, bench_words, summary, verdict_words, weather_lines

_State = tuple[Identity, Mark]  # the file, another once restored, and its last rows
#: A verdict as a class of the style sheet.
MARKS = {WATER_NOW: "now", WATER_LATER: "later", LOOK_FIRST: "look"}


@dataclass(frozen=True)
class Said:
    """A sentence about a tree; on paper only those that its sheet holds too."""

    text: str
    on_paper: bool


@dataclass(frozen=True)
class Row:
    """One tree of the round."""

    label: str
    name: str
    mark: str
    verdict: str
    said: tuple[Said, ...]
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
    rows: dict[str, tuple[TreeVerdict, Row]] = field(default_factory=dict)  # written before
    like: "Worked | None" = None  # one of the same hour, whose sentences are the same

    @property
    def zone(self) -> ZoneInfo:
        """The site's zone."""
        return self.knowledge.site.zone

    @cached_property
    def view(self) -> View:
        """The round as it is shown."""
        return view(self)

    @cached_property
    def benches(self) -> tuple[Bench, ...]:
        """The places with their trees: their sentences rest on the hour, not on the minute."""
        return self.like.benches if self.like else benches(self)

    def later(self, at: datetime) -> "Worked | None":
        """Give the same as it stands later, or None where it must be worked out anew."""
        if self.round is None or self.leaning is None:
            return None
        found = work_later(self.round, self.leaning, at)
        return found and Worked(*found, self.knowledge, at, like=self.like or self)


class Rounds:
    """The round as it stands, worked out once for all who ask for it in the same hour."""

    def __init__(self, session: PageSession) -> None:
        self._session = session
        self._lock = Lock()
        self._shelf = Shelf()
        self._rows: dict[str, tuple[TreeVerdict, Row]] = {}
        self._begun = 0
        self._given: Worked | None = None  # by the call begun last
        self._kept: _Kept | None = None

    @property
    def path(self) -> Path:
        """The garden's file."""
        return self._session.path

    def now(self) -> Worked:
        """Give the round with everything that was told before this call."""
        begun = self._begun
        with self._lock:
            if self._given and self._begun > begun:  # by another call, begun after this one
                return self._given
            self._begun += 1
            self._given = None
            with self._session.reading() as garden:
                self._given = self._at(self._session.clock(), garden,
                                       (garden.identity, garden.mark()))
            return self._given

    def prepare(self) -> None:
        """Work the round out before anybody asks, and store what saves others work."""
        self.now()
        with self._lock, self._session.reading() as garden:
            settle(garden, self._shelf)

    def _at(self, at: datetime, garden: Garden, state: _State) -> Worked:
        worked = self._kept.at(at, state) if self._kept else None
        if worked is None:
            worked = _work(garden, at, self._shelf, self._rows)
            self._kept = _Kept(worked, state, garden.next_to_count(at))
        elif self._kept:
            self._kept = replace(self._kept, worked=worked)
        return worked


@dataclass(frozen=True)
class _Kept:
    """A round, the state of the file it was worked out from, and until when no more counts."""

    worked: Worked
    state: _State
    until: datetime | None

    def at(self, at: datetime, state: _State) -> Worked | None:
        """Give it as it stands at an instant; None where it must be worked out anew."""
        if state != self.state or (self.until is not None and at >= self.until):
            return None
        return self.worked.later(at)


def _work(garden: Garden, at: datetime, shelf: Shelf,
          rows: dict[str, tuple[TreeVerdict, Row]]) -> Worked:
    try:
        told, leaning = work_round(garden, at, shelf)
        return Worked(told, leaning, told.knowledge, at, rows=rows)
    except Refused as refused:
        return Worked(None, None, garden.knowledge(at), at, str(refused))


def view(worked: Worked) -> View:
    """Give the round as it is shown."""
    head = headline(worked.at, worked.zone)
    if worked.round is None or worked.leaning is None:
        return View(head, (worked.refusal,), worked.benches, "")
    words = Words(worked.round)
    return View(head, tuple(weather_lines(worked.round, worked.leaning, words)), worked.benches,
                summary(worked.round, words) if worked.round.trees else "")


def benches(worked: Worked) -> tuple[Bench, ...]:
    """Give the places in walking order, with what is said of their trees."""
    if worked.round is None:
        return _plain(worked)
    words = Words(worked.round)
    found = []
    for number, (place, those) in enumerate(groupby(worked.round.trees, lambda t: t.place)):
        trees = list(those)
        now = [tree for tree in trees if tree.verdict == WATER_NOW]
        name = _place_name(place)
        found.append(Bench(number, name, bench_words(name, trees, now, words),
                           tuple(_row(tree, words, worked) for tree in trees)))
    return tuple(found)


def _place_name(place: Place | None) -> str:
    return place.name if place else "no place told"


def _row(tree: TreeVerdict, words: Words, worked: Worked) -> Row:
    """Write a row; a tree judged as before, in the same hour, stands as it was written then."""
    watered = watered_today(worked.knowledge, tree.label, worked.at)
    judged, row = worked.rows.get(tree.label, (None, None))
    if row is None or judged is not tree or row.watered != watered:
        row = _written(tree, words, watered)
        worked.rows[tree.label] = tree, row
    return row


def _written(tree: TreeVerdict, words: Words, watered: str) -> Row:
    tells = tree.verdict in MARKS or tree.recovery or tree.also
    why = reasons(tree, words) if tells else []
    said = [Said(text, i == 0 and tree.recovery is not None) for i, text in enumerate(why)]
    said += [Said(beside_words(each, words), True) for each in tree.also]
    return Row(tree.label, tree.name, MARKS.get(tree.verdict, "leave"),
               verdict_words(tree, words), tuple(said), watered)


def watered_today(knowledge: Knowledge, label: str, at: datetime) -> str:
    """Give the time of the clock at which a tree was watered last today, or nothing."""
    zone = knowledge.site.zone
    last = next((each.at for each in reversed(knowledge.waterings[label]) if each.at <= at), None)
    if last is None or last.astimezone(zone).date() != at.astimezone(zone).date():
        return ""
    return f"{last.astimezone(zone):%H:%M}"


def _plain(worked: Worked) -> tuple[Bench, ...]:
    """Give the trees in walking order where no round can be worked out."""
    known = worked.knowledge
    labels = potted(known, worked.at)
    found = []
    for number, (place, those) in enumerate(groupby(
            labels, lambda label: known.place_of(label, worked.at))):
        rows = tuple(Row(label, known.trees[label].name or known.trees[label].group, "leave", "",
                         (), watered_today(known, label, worked.at)) for label in those)
        name = _place_name(place)
        found.append(Bench(number, name, name[:1].upper() + name[1:], rows))
    return tuple(found)
