"""`advisor away`: the plan, its sheet and calendar, what changed, what is refused."""

import json
import re
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from away_made import NOW, small_garden
from click.testing import CliRunner, Result
from demo_made import AT, demo_garden
from icalendar import Calendar
from pypdf import PdfReader

from advisor.cli.main import cli
from advisor.cli.session import Session
from advisor.garden.store import Garden
from advisor.show.away_document import change_text

MORNING = "2019-07-10T07:00+02:00"
SPAN = ("--from", "2019-07-12", "--until", "2019-07-22")
AMSTERDAM = ZoneInfo("Europe/Amsterdam")
Run = Callable[..., Result]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return small_garden(tmp_path)


@pytest.fixture
def run(path: Path) -> Run:
    def command(*args: str, at: str = MORNING) -> Result:
        session = Session(path, lambda: datetime.fromisoformat(at))
        return CliRunner().invoke(cli, [*args, "--at", at], obj=session)
    return command


def document(result: Result) -> dict:
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def test_the_document_is_as_promised(run: Run) -> None:
    told = document(run("away", *SPAN, "--visits-on", "mon,tue,wed,fri,sat,sun", "--not-on",
                        "2019-07-16", "--without", "5", "--json"))
    assert list(told) == ["from", "until", "safety", "visits", "at_risk", "saves"]
    assert (told["from"], told["until"]) == ("2019-07-12", "2019-07-22")
    assert told["safety"]["wanted"] == 0.95 <= told["safety"]["reached"] + 1e-9
    assert told["visits"]
    for visit in told["visits"]:
        assert list(visit) == ["at", "pots", "litres", "minutes"]
        at = datetime.fromisoformat(visit["at"])
        assert at.utcoffset() == timedelta(hours=2)
        assert (at.hour, at.weekday() != 3) == (19, True)
        assert at.date() != date(2019, 7, 16)
        assert visit["litres"] == pytest.approx(sum(pot["litres"] for pot in visit["pots"]))
        for pot in visit["pots"]:
            assert list(pot) == ["tree", "place", "litres", "only_if"]
    assert all(list(each) == ["tree", "chance", "worst_day"] for each in told["at_risk"])
    assert all(list(each) == ["remedy", "trees", "visits_saved"] for each in told["saves"])


@pytest.mark.parametrize("more", [(), ("--one-page-a-visit",), ("--letter", "--one-page-a-visit")],
                         ids=["table", "pages", "letter"])
def test_the_sheet_holds_all_that_the_document_holds(run: Run, tmp_path: Path,
                                                     more: tuple[str, ...]) -> None:
    pdf = tmp_path / "helper.pdf"
    told = document(run("away", *SPAN, "--json", "--sheet", str(pdf), "--can", "8", "--phone",
                        "+31 20 0000000", *more))
    pages = PdfReader(pdf).pages
    text = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))
    assert "+31 20 0000000" in text.replace("\N{NO-BREAK SPACE}", " ")
    assert (round(float(pages[0].mediabox.width)) == 612) == ("--letter" in more)
    for visit in told["visits"]:
        at = datetime.fromisoformat(visit["at"])
        assert f"{at:%A} {at.day} {at:%B %Y}, 19:00" in text
        for pot in visit["pots"]:
            assert f"{pot['litres']:g} L" in text
            assert re.search(rf"\b{pot['tree']}\b", text)
    assert not list(tmp_path.glob("*.part"))


def test_the_phone_is_not_kept(run: Run, path: Path, tmp_path: Path) -> None:
    document(run("away", *SPAN, "--json", "--phone", "SECRET 42", "--sheet",
                 str(tmp_path / "a.pdf")))
    assert b"SECRET 42" not in path.read_bytes()


def test_visits_keep_their_hour_when_the_clocks_change(run: Run, tmp_path: Path) -> None:
    """Clocks go back on 27 October 2019; 18:00 stays 18:00."""
    file = tmp_path / "away.ics"
    told = document(run("away", "--from", "2019-10-14", "--until", "2019-11-14", "--visit-time",
                        "18:00", "--safety", "1", "--json", "--calendar", str(file)))
    events = list(Calendar.from_ical(file.read_bytes()).walk("VEVENT"))
    assert [each.start.astimezone(UTC) for each in events] == [
        datetime.fromisoformat(each["at"]).astimezone(UTC) for each in told["visits"]]
    assert events
    offsets = {each.start.utcoffset() for each in events}
    assert {each.start.astimezone(AMSTERDAM).hour for each in events} == {18}
    assert offsets == {timedelta(hours=2), timedelta(hours=1)}
    for event, visit in zip(events, told["visits"], strict=True):
        for pot in visit["pots"]:
            assert f"- {pot['tree']} " in str(event["description"])


def test_the_text_says_the_same_as_the_document(run: Run) -> None:
    told = document(run("away", *SPAN, "--json"))
    text = run("away", *SPAN).stdout
    assert f"{len(told['visits'])} visits keep every tree" in text
    for visit in told["visits"]:
        at = datetime.fromisoformat(visit["at"])
        assert f"{at:%a} {at.day} Jul 19:00: {len(visit['pots'])} pot" in text
    assert "Before you leave, Fri 12 Jul 07:00" in text
    assert text.rstrip().endswith("Estimates, not orders: the tree and the finger decide.")


def test_an_update_with_nothing_new_says_so_and_next_what_is_next(run: Run) -> None:
    told = document(run("away", *SPAN, "--json"))
    said = run("away", "--update", at="2019-07-10T07:30+02:00")
    assert said.exit_code == 0, said.output
    first = datetime.fromisoformat(told["visits"][0]["at"])
    assert said.stdout.startswith(f"Nothing changed. Next visit {first:%a} {first.day} Jul 19:00")
    assert len(said.stdout) < 160


def test_what_changed_is_told_shortly() -> None:
    """The words of a visit moved, one more, one less, other pots."""
    def plan(*visits: tuple[str, str]) -> dict:
        return {"visits": [{"at": f"2019-07-{day}T19:00+02:00", "litres": 4.0,
                            "pots": [{"tree": tree} for tree in trees.split()]}
                           for day, trees in visits]}

    def said(before: dict, after: dict) -> str:
        return change_text(before, after, NOW, AMSTERDAM)

    one = plan(("11", "1 2"), ("15", "3"))
    assert said(one, plan(("11", "1 2"), ("14", "3"))) == (
        "Monday's visit moves to Sunday: 1 pot, 4 L.")
    assert said(one, plan(("11", "1 2"), ("13", "4"), ("16", "3"))) == (
        "Monday's visit moves to Tuesday: 1 pot, 4 L.\n"
        "One more visit, Sat 13 Jul 19:00: 1 pot, 4 L.")
    assert said(one, plan(("11", "1 2"))) == "Monday's visit is not needed."
    assert said(plan(("11", "1 2")), one) == "One more visit, Mon 15 Jul 19:00: 1 pot, 4 L."
    assert said(one, plan(("11", "1 4"), ("15", "3"))) == "Thursday: also 4, not 2."
    assert said(one, one) == "Nothing changed. Next visit Thu 11 Jul 19:00: 2 pots, 4 L."
    assert said(plan(("09", "1")), plan()) == "Nothing changed: no visit is left."


def test_ticks_are_entered_at_the_hour_of_the_visit(run: Run, path: Path) -> None:
    told = document(run("away", *SPAN, "--json"))
    visit = next(each for each in told["visits"] if len(each["pots"]) > 1)
    at = datetime.fromisoformat(visit["at"])
    labels = [pot["tree"] for pot in visit["pots"]]
    later = (at + timedelta(days=1)).isoformat(timespec="minutes")
    early = run("watered", "--from-sheet", f"{at:%Y-%m-%d}")
    assert (early.exit_code, "still to come" in early.output) == (1, True)
    done = run("watered", "--from-sheet", f"{at:%Y-%m-%d}", "--but", labels[0], at=later)
    assert done.exit_code == 0, done.output
    with Garden.open(path) as garden:
        poured = garden.knowledge().waterings
    assert not [each for each in poured[labels[0]] if each.at == at]
    for pot in visit["pots"][1:]:
        assert [each.litres for each in poured[pot["tree"]] if each.at == at] == [pot["litres"]]


def test_there_must_be_a_visit_to_tick(run: Run) -> None:
    nothing = run("watered", "--from-sheet", "2019-07-12")
    assert (nothing.exit_code, nothing.stdout) == (1, "")
    document(run("away", *SPAN, "--json"))
    other = run("watered", "--from-sheet", "2019-07-09")
    assert other.exit_code == 1
    assert "no visit on 09 July 2019" in other.output


REFUSED = [
    (("--from", "2019-07-01", "--until", "2019-07-22"), 1, "--from: 01 July 2019"),
    (("--from", "2019-07-22", "--until", "2019-07-12"), 1, "--until: 12 July 2019"),
    (("--from", "2019-07-12", "--until", "2019-12-12"), 1, "absence: 153 days"),
    (("--from", "2019-07-12", "--until", "2019-07-12"), 1, "--until: 12 July 2019"),
    ((*SPAN, "--can", "0"), 1, "--can: 0 L"),
    ((*SPAN, "--can", "-2"), 1, "--can: -2 L"),
    ((*SPAN, "--can", "inf"), 1, "--can: 'inf'"),
    ((*SPAN, "--safety", "2"), 1, "--safety: 2"),
    ((*SPAN, "--minutes", "0"), 1, "minutes a visit: 0 min"),
    ((*SPAN, "--litres", "-1"), 1, "litres a visit: -1 L"),
    (("--from", "2019-07-12", "--until", "2019-07-13", "--visits-on", "mon"), 1, "days on which"),
    (("--from", "2019-07-12", "--until", "2019-07-13", "--not-on", "2019-07-12"), 1,
     "days on which somebody can come: none"),
    ((*SPAN, "--visits-on", "someday"), 1, "--visits-on: 'someday'"),
    ((*SPAN, "--sheet", "plan.txt"), 1, "--sheet: plan.txt"),
    ((*SPAN, "--calendar", "nowhere/plan.ics"), 1, "--calendar: nowhere/plan.ics"),
    (("--from", "soon", "--until", "2019-07-22"), 1, "--from: 'soon'"),
    (("--from", "2019-07-12"), 2, "Give --from and --until"),
    (("--update",), 1, "--update: no plan is kept"),
    (("--update", *SPAN), 2, "leave the days out"),
]


@pytest.mark.parametrize(("args", "code", "said"), REFUSED, ids=lambda each: str(each)[:40])
def test_what_cannot_be_planned_is_refused(run: Run, path: Path, args: tuple[str, ...], code: int,
                                           said: str) -> None:
    before = path.read_bytes()
    told = run("away", *args)
    assert (told.exit_code, told.stdout) == (code, "")
    assert said in told.output
    assert path.read_bytes() == before


def test_somebody_must_be_left_to_look_after(run: Run) -> None:
    told = run("away", *SPAN, "--without", "all")
    assert (told.exit_code, told.stdout) == (1, "")
    assert "--without: every tree" in told.output


def test_a_folder_is_no_sheet(run: Run, path: Path) -> None:
    folder = path.parent / "folder.pdf"
    folder.mkdir()
    before = path.read_bytes()
    told = run("away", *SPAN, "--sheet", str(folder))
    assert (told.exit_code, told.stdout, path.read_bytes()) == (1, "", before)
    assert "--sheet: " in told.output


def test_weather_that_does_not_reach_is_refused(tmp_path: Path) -> None:
    garden = demo_garden(tmp_path)
    told = CliRunner().invoke(cli, ["--garden", str(garden), "away", "--from", "2027-09-20",
                                    "--until", "2027-10-10", "--at", AT])
    assert told.exit_code == 1
    assert "to the return on 10 October 2027" in told.output


def test_trees_that_no_plan_keeps_are_named_with_what_would_mend_it(tmp_path: Path) -> None:
    garden, file = demo_garden(tmp_path), tmp_path / "a.pdf"
    told = CliRunner().invoke(cli, ["--garden", str(garden), "away", "--from", "2026-09-10",
                                    "--until", "2026-09-24", "--at", AT, "--sheet", str(file)])
    assert told.exit_code == 1
    assert "no plan keeps every tree" in told.stdout
    assert "cannot be kept even with a visit a day (up to 8 of 14 days want two)" in told.stdout
    assert "What would mend it" in told.stdout
    assert "--without" in told.stdout
    assert not file.exists()


def test_few_years_are_told(tmp_path: Path) -> None:
    garden = small_garden(tmp_path, 2, years=2)
    session = Session(garden, lambda: NOW)
    told = CliRunner().invoke(cli, ["away", *SPAN, "--at", MORNING], obj=session)
    assert told.exit_code == 0, told.output
    assert "days up to 15 from the date stand in" in told.stdout


def test_a_stop_gives_what_there_is(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("advisor.cli.away_work.judged", stopped)
    told = run("away", *SPAN)
    assert told.exit_code == 0, told.output
    assert "Stopped early" in told.stdout
    assert "keep every tree" in told.stdout
