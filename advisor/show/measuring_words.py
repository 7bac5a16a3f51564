"""A mix being weighed: what was told, what it says, what comes next."""

from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any, Final
from zoneinfo import ZoneInfo

from advisor.garden.stock import Container, MixWeight
from advisor.jobs.potting.measuring import Fitted, Spread
from advisor.show.moments import dated

DRY_TIMES: Final = 3  # weighings that take the scale's own error down
DRAINED_TIMES: Final = 2
DRYING_TIMES: Final = 8  # over five days
TIMES: Final = ("", "once more", "twice", "three times")
BEGIN: Final = (
    "Take a straight-sided pot with holes, half a litre to two litres. Fill it 60 to 120 mm deep "
    "with the mix, dry as the air of a room: spread it out for some days first, and knock the pot "
    "down as when potting.")
DRY: Final = "Weigh it dry, pot and all, {times}; lift it off the scale in between."
DRAINED: Final = ("Water it until it runs, wait, again until no more air comes out; let it drain "
                  "for an hour on a grid. Weigh it {times}.")
DRYING: Final = ("Let it dry bare {where} and weigh it morning and evening for five days; {done} "
                 "of {times} done.")
INDOORS: Final = "in a room, out of the sun and away from heating,"
OUTDOORS: Final = "outdoors under a roof, open to sun and wind,"
KEEP: Final = "Enough. Keep these values for the mix: --keep. More weighings narrow them."
#: Kind of weighing -> how it is told without being asked.
TOLD_BY: Final = {
    "container": "Tell --litres (of the mix), --depth in mm, and --empty, the pot alone in grams.",
    "dry": "Tell it with --dry GRAMS, repeated.",
    "drained": "Tell it with --drained GRAMS, repeated.",
    "drying": "Tell each with --weight GRAMS.",
}


def next_step(container: Container | None, weights: Sequence[MixWeight]) -> tuple[str, str]:
    """Give the kind of weighing that comes next, and what to do in words."""
    if container is None:
        return "container", BEGIN
    done = {kind: sum(w.kind == kind for w in weights) for kind in ("dry", "drained", "drying")}
    if done["dry"] < DRY_TIMES and not done["drained"]:
        return "dry", DRY.format(times=TIMES[DRY_TIMES - done["dry"]])
    if done["drained"] < DRAINED_TIMES and not done["drying"]:
        return "drained", DRAINED.format(times=TIMES[DRAINED_TIMES - done["drained"]])
    if done["drying"] < DRYING_TIMES:
        where = OUTDOORS if container.outdoors else INDOORS
        return "drying", DRYING.format(where=where, done=done["drying"], times=DRYING_TIMES)
    return "keep", KEEP


def series_text(mix: str, container: Container | None, weights: Sequence[MixWeight],
                fitted: Fitted | None, now: datetime, zone: ZoneInfo) -> str:
    """Give the state of a series in words.

    Parameters
    ----------
    mix : str
    container : Container or None
    weights : sequence of MixWeight
        In the order of time.
    fitted : Fitted or None
        What they say so far.
    now : datetime
    zone : ZoneInfo
    """
    lines = []
    if container is not None:
        lines.append(f"{mix}: {container.litres:g} L, {container.depth_mm:g} mm deep, the empty "
                     f"pot {container.empty_g:g} g, since {dated(container.at, now, zone)}.")
    left_out = {i: doubt for doubt in (fitted.doubts if fitted else ()) for i in doubt.which}
    lines += [f"  {i + 1:>2}  {w.kind:<8}{dated(w.at, now, zone):<18}{w.grams:g} g"
              + (f"  left out: {left_out[i].why}" if i in left_out else "")
              for i, w in enumerate(weights)]
    if fitted is not None:
        dried = any(w.kind == "drying" for w in weights)
        lines += [_result(fitted, dried),
                  *(f"Look: {d.why}." for d in fitted.doubts if not d.which)]
    kind, step = next_step(container, weights)
    return "\n".join([*lines, f"Next: {step} {TOLD_BY.get(kind, '')}".rstrip()])


def _result(fitted: Fitted, dried: bool) -> str:
    lines = [
        "So far, in brackets nine chances in ten:",
        f"holds {_percent(fitted.capacity)} of its volume after draining, "
        f"{fitted.own.depth_mm:g} mm deep; {fitted.factor.mid:.2f} times what the table says",
        f"{_percent(fitted.available)} for a tree; what is held too fast for roots is by the table",
        f"a litre weighs {_spread(fitted.density_kgl)} kg dry",
    ]
    if dried:
        lines += [
            f"wet on top it lost {_spread(fitted.demand_mm_d)} mm a day, on the last day "
            f"{_spread(fitted.dry_top_mm_d)} mm",
            f"water creeps up in it at {fitted.k_c_cmh.mid:.1g} cm/h ({fitted.k_c_cmh.low:.0g} to "
            f"{fitted.k_c_cmh.high:.0g}); with its top {_spread(fitted.vapour_depth_mm)} mm dry, "
            "half as much dries off; the two are known better together than apart"]
    return "\n  ".join(lines)


def _percent(spread: Spread) -> str:
    return (f"{100 * spread.mid:.0f} % ({100 * spread.low:.0f} to {100 * spread.high:.0f})")


def _spread(spread: Spread) -> str:
    return f"{spread.mid:.2g} ({spread.low:.2g} to {spread.high:.2g})"


def series_document(mix: str, container: Container | None, weights: Sequence[MixWeight],
                    fitted: Fitted | None, zone: ZoneInfo) -> dict[str, Any]:
    """Give the state of a series for scripts."""
    out = {i for doubt in (fitted.doubts if fitted else ()) for i in doubt.which}
    found = None if fitted is None else {
        "density_kgl": asdict(fitted.density_kgl), "held": asdict(fitted.capacity),
        "available": asdict(fitted.available), "over_the_table": asdict(fitted.factor),
        "creep_cmh": asdict(fitted.k_c_cmh), "wet_top_mm_d": asdict(fitted.demand_mm_d),
        "dry_top_mm": asdict(fitted.vapour_depth_mm),
        "last_day_mm_d": asdict(fitted.dry_top_mm_d), "used": fitted.used,
        "doubts": [{"weighings": [i + 1 for i in d.which], "why": d.why} for d in fitted.doubts],
    }
    return {
        "mix": mix,
        "container": None if container is None else {
            "litres": container.litres, "depth_mm": container.depth_mm,
            "empty_g": container.empty_g, "outdoors": container.outdoors},
        "weighings": [{"number": i + 1, "kind": w.kind, "grams": w.grams, "left_out": i in out,
                       "at": w.at.astimezone(zone).isoformat(timespec="seconds")}
                      for i, w in enumerate(weights)],
        "so_far": found, "next": next_step(container, weights)[0],
    }
