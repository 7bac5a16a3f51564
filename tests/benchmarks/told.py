"""What a timing found: printed where it runs, and kept for the table that all.py prints."""

import json
import os
import resource
import subprocess
import sys
import time
from pathlib import Path

#: A file that gets a line of JSON a figure; all.py names it.
KEPT = "ADVISOR_TIMINGS"
#: Processes run as an installed package does: its modules compiled, whatever the shell says.
AS_INSTALLED = {name: value for name, value in os.environ.items()
                if name != "PYTHONDONTWRITEBYTECODE"}


def tell(what: str, figure: float | str, unit: str = "", *, beside: str = "", bar: str = "",
         peak_mb: float | None = None) -> None:
    """Print a figure with its peer, its bar and the most memory held, and keep it."""
    shown = f"{figure:.3g}" if isinstance(figure, float) else str(figure)
    row = {"what": what, "figure": f"{shown} {unit}".strip(), "beside": beside, "bar": bar,
           "peak": "" if peak_mb is None else f"{peak_mb:.0f} MB"}
    sys.stdout.write("\n" + ", ".join(value for value in row.values() if value) + "\n")
    if KEPT in os.environ:
        with Path(os.environ[KEPT]).open("a") as file:
            file.write(json.dumps(row) + "\n")


def seconds_to_import(*names: str) -> float:
    """Give what a process takes that only imports these [s]."""
    began = time.perf_counter()
    subprocess.run([sys.executable, "-c", f"import {', '.join(names)}"], check=True,
                   env=AS_INSTALLED)
    return time.perf_counter() - began


def peak_mb() -> float:
    """Give the most memory this process held so far [MB]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
