"""Why a tree gets its verdict, in sentences; the same in the text, the page and the JSON."""

from dataclasses import dataclass
from math import isnan
from zoneinfo import ZoneInfo

from advisor.jobs.beside import Beside
from advisor.jobs.judge import (
    DAMP,
    LOOK_FIRST,
    WATER_LATER,
    WATER_NOW,
    Spread,
    hangs_on_floor,
)
from advisor.jobs.morning import Round, TreeVerdict
from advisor.jobs.outlook import BALL_MID, RAIN_IN
from advisor.jobs.recovery import CHANCE, FLOOR, NO_TARGET_UNDER_MM
from advisor.show.moments import clock, depth, moment, percent, rain

#: Share of available water left from which a pot is called so [J].
STATES = ((0.75, "damp"), (0.45, "drying"), (0.25, "dry on top"))
WORTH_TELLING_MM = 3.0  # rain into the pot within two days
COVERED = ("moss", "sphagnum")
ROOFED = 0.5  # share of the rain under which a place counts as roofed [J]
COLD_C = 6.0  # mean of the last week under which pots are forgotten [J]


@dataclass(frozen=True)
class Words:
    """What sentences are made with: now, the wall clock, the units."""

    round: Round
    us: bool = False

    @property
    def zone(self) -> ZoneInfo:
        """The site's zone."""
        return self.round.sky.zone


def state(left: float) -> str:
    """Say how a pot is by the share of available water left."""
    for least, word in STATES:
        if left >= least:
            return word
    return "dry"


def reasons(tree: TreeVerdict, words: Words) -> list[str]:
    """Give the sentences that stand behind a verdict, the weightiest first."""
    said = [_standing(tree, words), _hanging(tree), _chance(tree, words), _look(tree, words),
            _after_repotting(tree, words), _rain(tree, words), _roofed(tree, words)]
    return [sentence for sentence in said if sentence]


def _standing(tree: TreeVerdict, words: Words) -> str:
    """Say how it stands now."""
    call, standing = tree.call, tree.outlook.standing
    if tree.outlook.standing.to_target:
        dry, target = call.dry_mm, standing.target_mm
        reads = depth(dry.mid, words.us).split()[0]
        return (f"dry to {reads} of {depth(target, words.us)} "
                f"({_between_depths(dry, words.us)}), {percent(max(call.left.mid, 0.0))} of its "
                f"water left{_ball(tree, words)}")
    return (f"{state(call.left.mid)}: about {percent(max(call.left.mid, 0.0))} of its water left "
            f"({_between(call.left)}), wants it at {percent(standing.limit)}")


def _hanging(tree: TreeVerdict) -> str:
    """Say what leaves that hang or drop may mean."""
    if not tree.outlook.standing.hanging:
        return ""
    if tree.call.left.mid >= DAMP:
        return ("leaves hang or drop though the pot should be damp: push a skewer; damp, that is "
                "trouble at the roots and more water makes it worse: shade it, look at the roots")
    return "leaves hang or drop and the pot is dry: water it until it runs, twice, and shade it"


def _ball(tree: TreeVerdict, words: Words) -> str:
    """Say how much the old root ball has, where its roots drink before the new grains give."""
    now = words.round.sky.index(words.round.at) - tree.outlook.first
    rows = tree.outlook.rows
    left = float(rows[BALL_MID, min(max(now, 0), rows.shape[1] - 1)])
    return "" if isnan(left) else f", {percent(max(left, 0.0))} in the old root ball"


def _between(spread: Spread) -> str:
    low, high = max(spread.low, 0.0), max(spread.high, 0.0)
    return f"{100 * low:.0f}-{100 * high:.0f} %"


def _between_depths(spread: Spread, us: bool) -> str:
    low, high = depth(spread.low, us).split()[0], depth(spread.high, us)
    return f"{low}-{high}"


def _chance(tree: TreeVerdict, words: Words) -> str:
    """Say how likely it is to pass its limit, or when it reaches its target."""
    call, now = tree.call, words.round.at
    standing = tree.outlook.standing
    if standing.to_target:
        return _target(tree, words)
    if tree.verdict not in (WATER_NOW, WATER_LATER, LOOK_FIRST):
        return ""
    until = moment(words.round.rounds[0], now, words.zone)
    if call.verdict == WATER_LATER:
        until = moment(words.round.rounds[1], now, words.zone)
        return f"should fall below that by {until} unless watered {_later(words)}"
    return (f"{percent(call.chance_past_limit)} chance of falling below "
            f"{percent(standing.limit)} by {until}")


def foreseen(tree: TreeVerdict, words: Words) -> str:
    """Say how many days are foreseen: "10 days"."""
    end = words.round.sky.instant(tree.outlook.first + tree.outlook.rows.shape[1])
    return f"{max((end - words.round.at).days, 1)} days"


def _later(words: Words) -> str:
    return moment(words.round.rounds[0], words.round.at, words.zone)


def _target(tree: TreeVerdict, words: Words) -> str:
    call, reached = tree.call, tree.call.reaches_target
    standing, asked = tree.outlook.standing, tree.verdict == LOOK_FIRST
    if call.verdict == WATER_NOW and call.chance_at_target >= CHANCE:
        return f"{percent(call.chance_at_target)} sure that it has dried to its depth"
    if call.chance_past_limit > standing.chance or (
            asked and hangs_on_floor(standing, call.chance_past_limit)):
        return (f"{percent(call.chance_past_limit)} chance that the soil its roots are in falls "
                f"to the last {percent(FLOOR)} of its water"
                + ("" if asked else ": do not wait for the depth"))
    if reached is None or reached.mid is None:
        return f"does not dry to its depth in the {foreseen(tree, words)} foreseen"
    early, likely, late = (moment(at, words.round.at, words.zone) if at else ""
                           for at in (reached.low, reached.mid, reached.high))
    says = f"reaches its depth {likely}"
    if call.next and call.next < reached.mid:
        return f"the soil its roots are in wants water before it {says}"
    if early and late and early != late:
        return f"{says} ({early} at the earliest, {late} at the latest)"
    return f"{says} ({early} at the earliest)" if early not in ("", likely) else says


def _look(tree: TreeVerdict, words: Words) -> str:
    """Say which reading to take."""
    if tree.verdict != LOOK_FIRST:
        return ""
    standing = tree.outlook.standing
    if not isnan(standing.full_kg) and not standing.to_target:
        return (f"the figures are unsure: weigh it; {standing.limit_kg:.2f} kg or less, water it; "
                "more, leave it")
    if tree.dressing in COVERED:
        return ("the figures are unsure and the top cannot be seen: lift one end; light, water "
                "it; usual or heavy, leave it")
    half = depth(standing.soil_depth_mm / 2.0, words.us)
    if hangs_on_floor(standing, tree.call.chance_past_limit):
        return (f"the figures are unsure: push a skewer into the old root ball, to {half}; dry "
                "there, water it; damp, leave it")
    if standing.to_target:
        target = depth(standing.target_mm, words.us)
        return (f"the figures are unsure: push a skewer; dry to {target} or deeper, water it; "
                "less, leave it")
    return (f"the figures are unsure: push a skewer to {half}; dry there, water it; damp, "
            "leave it")


def _after_repotting(tree: TreeVerdict, words: Words) -> str:
    """Say how a repotted tree is kept, where that is not plain."""
    recovery = tree.recovery
    if recovery is None:
        return ""
    day = f"day {recovery.day(words.round.at, words.zone)} after repotting"
    if not recovery.dry:
        return f"{day}: kept evenly damp; only evergreen conifers wait to dry"
    if recovery.target_mm is None:
        return (f"{day}: under {depth(NO_TARGET_UNDER_MM, words.us)} of soil nothing dries on top "
                "alone, so it is judged by the water left, a little later than usual")
    return day


def _rain(tree: TreeVerdict, words: Words) -> str:
    """Tell of rain that will reach the soil within two days."""
    sky, now = words.round.sky, words.round.at
    start = max(sky.index(now) - tree.outlook.first, 0)
    coming = tree.outlook.rows[RAIN_IN, start:start + 48]
    if float(coming.sum()) < WORTH_TELLING_MM:
        return ""
    hour = int(coming.argmax())
    when = moment(sky.instant(tree.outlook.first + start + hour), now, words.zone)
    amount = rain(float(coming.sum()), words.us)
    return f"about {amount} of rain should reach its soil, most of it {when}"


def _roofed(tree: TreeVerdict, words: Words) -> str:
    """In the cold, rain does not reach a pot under a roof and nobody thinks of it."""
    sky = words.round.sky
    now = sky.index(words.round.at)
    if tree.place is None or tree.place.rain_factor >= ROOFED:
        return ""
    if float(sky.temp_c[max(now - 168, 0):now + 1].mean()) >= COLD_C:
        return ""
    return "under a roof in the cold: no rain reaches it, so look at it now and then"


def beside_words(each: Beside, words: Words) -> str:
    """Say one thing to do besides watering."""
    at = words.round.at
    start = clock(each.start, at, words.zone) if each.start else "now"
    until = f" to {clock(each.end, at, words.zone)}" if each.end else " on"
    before = f"before {start}" if each.start else "now"
    thaw = f" ({clock(each.end, at, words.zone)})" if each.end else ""
    next_round = moment(words.round.rounds[0], at, words.zone)
    fall, degrees = rain(each.amount, words.us), f"{round(each.amount)} °C"
    return {
        "rain in recovery": f"keep the rain off from {start}{until}: about {fall} would undo the "
                            "drying",
        "days of rain": f"tip the pot on a long edge from {start}{until}, if the rain ({fall}) "
                        "cannot be kept off",
        "heat in recovery": f"shade it from {start}{until}: {degrees} expected, and few roots",
        "cannot last": f"even full it may not last until {next_round}: shade it, or look again "
                       "before",
        "roots cannot keep up": "it drinks faster than the soil its roots are in can give: shade "
                                "it well, and keep the wind off",
        "frost in recovery": f"bring it in {before}: frost to {degrees} expected, and few roots",
        "frost in leaf": f"bring it in {before}: frost to {degrees} expected, and soft leaves",
        "frost in the roots": f"bring it in {before}, or pack it: {degrees} in the pot expected, "
                              "more than its roots may bear",
        "frost over": f"take it out again at {start}",
        "frozen": f"frozen: leave it until the thaw{thaw}, then see whether it wants water",
    }[each.why]
