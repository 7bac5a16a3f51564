"""The twins in full: `python tests/twins/table.py [FOLDER]` prints the table and draws it.

300 trees drawn from the prior, 300 whose thirst is 2.5 times off, 300 from twice the prior's
spread, and 16 that live by another model. About two minutes on one processor.
"""

import sys
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import matplotlib as mpl  # noqa: E402

mpl.use("Agg")

import numpy as np  # noqa: E402
from matplotlib import pyplot as plt  # noqa: E402
from matplotlib.axes import Axes  # noqa: E402
from twins import scores  # noqa: E402
from twins.keeper import Diary, walk_all  # noqa: E402
from twins.other import as_richards  # noqa: E402

TREES = range(300, 600)  # the filter was chosen on the first three hundred
OTHERS = range(300, 332, 2)  # July's: one substrate a pot


def lines(title: str, diaries: Sequence[Diary], rows: Sequence[scores.Row]) -> list[str]:
    """Give one block of the table."""
    said = [f"{title}: {len(diaries)} trees, "
            f"{sum(len(d.told) for d in diaries)} readings, "
            f"{100 * scores.unused(diaries):.1f} % of them doubted"]
    for bar, reckon in rows:
        value = reckon(diaries)
        promise = f"{bar.low:g} to {bar.high:g}" if np.isfinite(bar.high) else "no bar"
        met = "" if bar.low <= value <= bar.high else "  MISSED"
        said.append(f"  {bar.name:42s} {value:7.3f} {bar.unit:2s}  {promise}{met}")
    return said


def draw(path: Path, drawn: Sequence[Diary], wrong: Sequence[Diary]) -> None:
    """Draw thirst against readings, chances against what came, and the hours of target."""
    figure, axes = plt.subplots(1, 3, figsize=(13, 4.2), layout="constrained")
    _draw_thirst(axes[0], drawn, wrong)
    _draw_chances(axes[1], drawn)
    for tool, style in (("skewer", "-"), ("scale", "--")):
        off = np.sort(scores.target_off_h(scores.of(drawn, tool)))
        axes[2].plot(off, np.linspace(0.0, 1.0, off.size), style, color="black", label=tool)
    axes[2].set(xlabel="hours off, foreseen two days ahead", ylabel="share of targets reached",
                xlim=(0, 48), title="Hour of reaching target")
    axes[2].legend()
    figure.savefig(path, dpi=120)
    plt.close(figure)


def _draw_thirst(ax: Axes, drawn: Sequence[Diary], wrong: Sequence[Diary]) -> None:
    for diaries, what, shade in ((drawn, "from the prior", "black"), (wrong, "2.5 × off", "0.55")):
        for tool, style in (("skewer", "-"), ("scale", "--")):
            those = scores.of(diaries, tool)
            count = np.arange(1, 13)
            off = [100.0 * np.median(scores.thirst_off(those, n)) for n in count]
            ax.plot(count, off, style, color=shade, label=f"{tool}, {what}")
    ax.set(xlabel="readings", ylabel="median error [%]", ylim=(0, 60), title="Thirst")
    ax.legend()


def _draw_chances(ax: Axes, drawn: Sequence[Diary]) -> None:
    cases, said, came = np.array(scores.tenths(drawn)).T
    ax.plot([0, 1], [0, 1], color="0.7")
    ax.fill_between([0, 1], [-0.1, 0.9], [0.1, 1.1], color="0.92")
    enough = cases >= scores.CASES
    ax.plot(said, came, color="black")
    ax.scatter(said[enough], came[enough], color="black", label=f"{scores.CASES} cases or more")
    if not enough.all():
        ax.scatter(said[~enough], came[~enough], color="white", edgecolor="black", label="fewer")
    ax.set(xlabel="chance said", ylabel="share that came so", xlim=(0, 1), ylim=(0, 1),
           title="Past its limit before the next round")
    ax.legend()


def main(folder: Path) -> None:
    """Walk all trees, print the table, draw it."""
    drawn, wrong = walk_all(TREES), walk_all(TREES, wrong=2.5)
    wide, other = walk_all(TREES, spread=2.0), walk_all(OTHERS, kind=as_richards)
    table = [*lines("drawn from the prior", drawn, scores.DRAWN),
             *lines("thirst 2.5 times off", wrong, scores.WRONG),
             *lines("from twice the prior's spread", wide, scores.WIDE),
             *lines("living by another model", other, scores.OTHER)]
    sys.stdout.write("\n".join(table) + "\n")
    draw(folder / "twins.png", drawn, wrong)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path.cwd())
