"""Every timing in one run, each beside its peer, as one table.

python tests/benchmarks/all.py [TREES]     up to TREES in the kernel, 100,000 unless given

About a quarter of an hour on two quiet cores. The libraries that pin others (pyet) get an
environment of their own in a folder that is removed afterwards.
"""

import json
import os
import subprocess
import sys
import tempfile
import venv
from pathlib import Path

from told import KEPT

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
COLUMNS = ("what", "figure", "beside", "bar", "peak")


def peers(folder: Path) -> Path:
    """Make the environment of the libraries that pin others; give its python."""
    venv.create(folder, with_pip=True)
    python = folder / "bin" / "python"
    subprocess.run([python, "-m", "pip", "install", "-q", f"{ROOT}[peers]"], check=True)
    return python


def run(python: Path | str, *args: str, trees: str, kept: Path) -> int:
    """Run timings with one python; give pytest's exit code."""
    return subprocess.run(
        [python, "-m", "pytest", "-q", "-s", "-p", "no:cacheprovider", "-W", "default", *args],
        cwd=ROOT, env={**os.environ, KEPT: str(kept), "ADVISOR_MANY_TREES": trees}).returncode


def table(rows: list[dict[str, str]]) -> str:
    """Set rows as Markdown."""
    lines = [COLUMNS, ("---",) * len(COLUMNS), *(tuple(row[c] for c in COLUMNS) for row in rows)]
    return "".join(f"| {' | '.join(line)} |\n" for line in lines)


def main() -> int:
    """Run them all, print the table; 1 where one could not run."""
    trees = sys.argv[1] if len(sys.argv) > 1 else "100000"
    with tempfile.TemporaryDirectory() as folder:
        kept = Path(folder) / "timings.jsonl"
        codes = [run(sys.executable, str(HERE), "--deselect",
                     "tests/benchmarks/test_et0.py::test_a_million_days_beside_pyet",
                     trees=trees, kept=kept),
                 run(peers(Path(folder) / "peers"), str(HERE / "test_et0.py"), "-k", "pyet",
                     trees=trees, kept=kept)]
        rows = [json.loads(line) for line in kept.read_text().splitlines()]
    sys.stdout.write("\n" + table(rows))
    return int(any(codes))


if __name__ == "__main__":
    sys.exit(main())
