"""`advisor reading`: enter what a skewer, a scale or the eye says of a tree's water."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any, Final

import click

from advisor.cli import session as here
from advisor.cli.ask import Asking
from advisor.cli.clock import instant_words
from advisor.cli.session import Desk, Session, at_option, pass_session
from advisor.cli.values import Quantity, Word
from advisor.cli.words import litres_words
from advisor.errors import Refused
from advisor.garden.knowledge import Knowledge
from advisor.garden.readings import HEAVIER, UNEXPLAINED, heavier_than, lacking
from advisor.garden.records import ENTERS, FEELS, LEAVES, LIFTS, RAN, Reading

HOUR: Final = timedelta(hours=1)
#: kind -> what its number is read as, and the unit it is written in
UNITS: Final[Mapping[str, tuple[str, str]]] = {
    "dry depth": ("length_mm", "mm"), "weight": ("weight_kg", "kg"), "run-off": ("litres", "L"),
    "rain under": ("rain_mm", "mm"),
}
#: Of the soil's dry weight by the table, how light a pot may be told [J; .3-.7]: a mix may be
#: lighter than its materials, a pot never without its soil.
LEAST_OF_DRY_SOIL = 0.5
#: Above a full weight by more than a scale and a wet crown explain [L] [J; .1-.4].
ABOVE_FULL_L = 0.2
#: what made a pot heavier: the answers to the question
REASONS: Final = ("watered", "rain", "wired", "fed", "wet crown", "scale moved", "not known")
NOT_KNOWN: Final = REASONS[-1]
ROOT_TROUBLE: Final = ("Where the pot is damp this is trouble at the roots and not for water: "
                       "look how it drains, and keep the rain off.")


@click.command()
@click.argument("tree")
@click.option("--dry-depth", type=Quantity(*UNITS["dry depth"]), metavar="MM",
              help="Dry from the top down to here, by skewer.")
@click.option("--finger", is_flag=True, help="... by finger.")
@click.option("--weight", type=Quantity(*UNITS["weight"]), metavar="KG",
              help="Tree, pot and water on the scale.")
@click.option("--feels", type=Word("feel", FEELS), help="How the soil feels; needs --at-depth.")
@click.option("--at-depth", type=Quantity("length_mm", "mm"), metavar="MM",
              help="How deep it was felt.")
@click.option("--lift", type=Word("lift", LIFTS), help="How heavy one end is to lift.")
@click.option("--ran-after", type=Quantity(*UNITS["run-off"]), metavar="L",
              help="It ran below after so many litres.")
@click.option("--not-run-after", type=Quantity(*UNITS["run-off"]), metavar="L",
              help="It had not run after so many.")
@click.option("--enters", type=Word("water poured on", ENTERS),
              help="What water does when it is poured on.")
@click.option("--leaves", type=Word("leaves", LEAVES), help="What is wrong with the leaves.")
@click.option("--rain-under", type=Quantity(*UNITS["rain under"]), metavar="MM",
              help="In a gauge under the crown.")
@click.option("--since", metavar="INSTANT", help="When that gauge was emptied; else when it was "
              "last read.")
@click.option("--give-or-take", metavar="NUMBER", help="How far off the number may be.")
@click.option("--note", default="", metavar="TEXT", help="What else is to be said.")
@at_option
@pass_session
def reading(session: Session, tree: str, at: str | None, **told: Any) -> None:
    """Enter what was read of the tree TREE: one reading or several at once.

    For example: advisor reading 3 --weight 6.42 --feels moist --at-depth 20
    """
    _refuse_misuse(told)
    with session.desk(at) as desk:
        label, known = _one(desk, tree), desk.garden.knowledge()
        read = [replace(each, sd=_give_or_take(each, told["give_or_take"]))
                for each in _readings(desk, known.readings[label], label, told)]
        _refuse_light(desk, label, told["weight"])
        read, said = _asked(desk, known, read)
        words = "; ".join(reading_words(each, desk) for each in read)
        with desk.entry(f"read of {label}: {words}") as entry:
            for each in read:
                entry.add(each)
        click.echo(f"Read of {label}: {words}, {instant_words(desk.at, desk.zone)}.")
        for line in [*said, *_remarks(desk.garden.knowledge(desk.at), read)]:
            click.echo(line)


def _refuse_light(desk: Desk, label: str, weight_kg: float | None) -> None:
    """Refuse a weight below half of what the soil alone weighs dry.

    Raises
    ------
    Refused
        So light.
    """
    if weight_kg is None or weight_kg <= 0.0:  # no weight at all: the rules of the garden
        return
    from advisor.jobs.describe import describe

    model = describe(desk.knowledge, label, desk.at)
    if model is None:
        return
    dry_kg = model.filled.curve.density_kgl * model.filled.soil_l
    if weight_kg < (least := LEAST_OF_DRY_SOIL * dry_kg):
        raise Refused(f"weight of {label}", f"{weight_kg:g} kg",
                      f"at least {least:.1f} kg: its soil alone weighs about {dry_kg:.1f} kg dry",
                      "Weigh it with its pot; the size of the pot is told with advisor add tree.")


def _refuse_misuse(told: Mapping[str, Any]) -> None:
    """Refuse options that do not go together (exit code 2)."""
    said = {name for name, value in told.items()
            if not (value is None or value is False or value == "")}
    main = said & {"dry_depth", "weight", "feels", "lift", "ran_after", "not_run_after", "enters",
                   "leaves", "rain_under"}
    measured = main & {"dry_depth", "weight", "ran_after", "not_run_after", "rain_under"}
    wrong = [words for broken, words in (
        (not main, "Give at least one reading, as --dry-depth 30."),
        ("finger" in said and "dry_depth" not in said, "--finger goes with --dry-depth."),
        (("feels" in said) != ("at_depth" in said), "--feels and --at-depth go together."),
        ({"ran_after", "not_run_after"} <= said, "Give --ran-after or --not-run-after, not both."),
        ("since" in said and "rain_under" not in said, "--since goes with --rain-under."),
        ("give_or_take" in said and len(measured) != 1,
         "--give-or-take goes with one reading in numbers: enter the others by themselves."),
    ) if broken]
    if wrong:
        raise click.UsageError(wrong[0], click.get_current_context())


def _one(desk: Desk, tree: str) -> str:
    labels = desk.choose([tree])
    if len(labels) > 1:
        raise Refused("tree", f"{tree!r} names {len(labels)} trees", "one tree",
                      "Enter the readings of each by themselves.")
    return labels[0]


def _readings(desk: Desk, before: Sequence[Reading], label: str,
              told: Mapping[str, Any]) -> list[Reading]:
    """Give the readings that were told, those in numbers first."""
    def read(kind: str, value: float | None = None, word: str = "", **more: Any) -> Reading:
        return Reading(label, desk.at, kind, value, word, note=told["note"], **more)

    found = []
    if told["dry_depth"] is not None:
        found.append(read("dry depth", told["dry_depth"], "finger" if told["finger"] else "skewer"))
    if told["weight"] is not None:
        found.append(read("weight", told["weight"]))
    for option, word in (("ran_after", RAN[0]), ("not_run_after", RAN[1])):
        if told[option] is not None:
            found.append(read("run-off", told[option], word))
    if told["rain_under"] is not None:
        found.append(read("rain under", told["rain_under"],
                          since=_emptied(desk, before, label, told["since"])))
    if told["feels"]:
        found.append(read("feel", word=told["feels"], depth_mm=told["at_depth"]))
    found += [read(kind, word=told[kind]) for kind in ("lift", "enters", "leaves") if told[kind]]
    return found


def _emptied(desk: Desk, before: Sequence[Reading], label: str, since: str | None) -> datetime:
    """Give when the gauge under a tree was emptied; refuse a span that was read already."""
    read = [each for each in before if each.kind == "rain under"]
    last = max((each.at for each in read if each.at < desk.at), default=None)
    start = desk.instant(since) if since else last
    if start is None:
        raise click.UsageError("Say when the gauge was emptied: --since.",
                               click.get_current_context())
    for each in read:
        if each.since is not None and each.since < desk.at and start < each.at:
            raise Refused(
                f"rain under {label}, since", instant_words(start, desk.zone),
                f"a span that does not meet the reading of {instant_words(each.at, desk.zone)}",
                "Give the time at which the gauge was emptied last.")
    return start


def _give_or_take(reading: Reading, text: str | None) -> float | None:
    if text is None or reading.kind not in UNITS:
        return None
    try:
        return Quantity(*UNITS[reading.kind]).read(text)
    except Refused as refused:
        raise Refused("--give-or-take", refused.value, refused.limit, refused.do) from None


# --- heavier without water ---------------------------------------------------------------


def _asked(desk: Desk, known: Knowledge,
           read: Sequence[Reading]) -> tuple[list[Reading], list[str]]:
    """Ask back where a pot is heavier without water; without a terminal note it."""
    kept, said = [], []
    for each in read:
        before = _unexplained(desk, known, each) if each.kind == "weight" else None
        if before is not None:
            against = (f"Heavier than the {before.value:g} kg of "
                       f"{instant_words(before.at, desk.zone)}, and no water is known in between")
            why = _why(against, each.tree)
            note = UNEXPLAINED if why == NOT_KNOWN else f"{HEAVIER}: {why}"
            each = replace(each, note="; ".join(filter(None, (note, each.note))))
            said += _answer(against, why)
        kept.append(each)
    return kept, said


def _unexplained(desk: Desk, known: Knowledge, weight: Reading) -> Reading | None:
    """Give the last weight of this potting, where nothing known since makes it heavier."""
    potting = known.potting_of(weight.tree, desk.at)
    if potting is None:
        return None
    before = heavier_than(weight, known.readings[weight.tree], potting.at)
    return before if before is not None and not _watered(desk, known, before) else None


def _watered(desk: Desk, known: Knowledge, before: Reading) -> bool:
    """Whether it was watered, fed or rained on since a reading."""
    label = before.tree
    told = [*(watering.at for watering in known.waterings[label]),
            *(event.at for event in known.events[label] if event.kind == "fed"),
            *(read.at for read in known.readings[label] if read.kind == "rain under"
              and read.value)]
    if any(before.at <= at <= desk.at for at in told):
        return True
    start = before.at.replace(minute=0, second=0, microsecond=0)
    rain_mm = desk.garden.weather(start, desk.at, desk.at)["rain_mm"]
    return bool((rain_mm > 0.0).any())


def _why(against: str, label: str) -> str:
    if not here.on_terminal():
        return NOT_KNOWN
    click.echo(f"{against}.", err=True)
    question = f"What happened to {label} ({', '.join(REASONS)})"
    return Asking().default(question, "", None, NOT_KNOWN, Word("reason", REASONS))


def _answer(against: str, why: str) -> list[str]:
    if why == NOT_KNOWN:
        return [f"{against}: kept, and marked as unexplained. Was it watered, wired or fed, was "
                "the crown wet, was the scale moved? `advisor undo` takes it back."]
    if why == "watered":
        return ["Enter the watering too: `advisor watered`."]
    return []


# --- what is said ------------------------------------------------------------------------


def reading_words(reading: Reading, desk: Desk) -> str:
    """Give a reading in a grower's words: "dry to 30 mm, give or take 3 mm"."""
    value, word = reading.value, reading.word
    off = (f", give or take {reading.sd:g} {UNITS[reading.kind][1]}" if reading.sd is not None
           else "")
    if reading.kind == "dry depth":
        return f"dry to {value:g} mm" + (" by finger" if word == "finger" else "") + off
    if reading.kind == "weight":
        return f"{value:g} kg{off}"
    if reading.kind == "run-off" and value is not None:
        return f"{word} after {litres_words(value)}{off}"
    if reading.kind == "rain under" and reading.since is not None:
        return f"{value:g} mm of rain under it since {instant_words(reading.since, desk.zone)}{off}"
    return {"feel": f"{word} at {reading.depth_mm or 0.0:g} mm", "lift": f"{word} to lift",
            "enters": f"water {word}", "leaves": f"leaves {word}"}[reading.kind]


def _remarks(knowledge: Knowledge, read: Sequence[Reading]) -> list[str]:
    """Say what follows from what was read."""
    lines = []
    for each in read:
        if each.kind == "leaves":
            lines.append(ROOT_TROUBLE)
        elif each.kind == "weight":
            lines.append(_weight_words(knowledge, each))
        elif each.kind == "run-off" and not _poured(knowledge, each):
            lines.append(f"Enter the water as well: `advisor watered {each.tree} --litres "
                         f"{each.value:g}{' --until-ran' if each.word == RAN[0] else ''}`.")
    return lines


def _poured(knowledge: Knowledge, reading: Reading) -> bool:
    """Whether the water that ran, or did not, is entered."""
    return any(abs(each.at - reading.at) <= HOUR for each in knowledge.waterings[reading.tree])


def _weight_words(knowledge: Knowledge, weight: Reading) -> str:
    """Say how far a weight is from the full one of its potting."""
    label = weight.tree
    potting = knowledge.potting_of(label, weight.at)
    assert potting is not None  # the rules refuse a reading of a tree without one
    weighed = [each for each in lacking(knowledge.readings[label], knowledge.waterings[label],
                                        potting.at) if each.reading.at == weight.at]
    if not weighed:
        return ("No full weight is known yet: weigh it once within three hours after it ran "
                "below.")
    last = weighed[-1]
    if last.full_at == weight.at:
        return "Taken as its full weight from now on."
    if last.lacking_l < -ABOVE_FULL_L:
        return (f"{litres_words(-last.lacking_l)} above its full weight: more than it can hold. "
                "Was the crown wet, or is more in the pot now? Weigh it again after it ran below.")
    side = "below" if last.lacking_l >= 0.0 else "above"
    words = f"{litres_words(abs(last.lacking_l))} {side} its full weight."
    return words + (" That one is more than a month old: weigh it again after it ran below."
                    if last.renew else "")
