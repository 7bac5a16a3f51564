"""The example garden as `advisor demo --into` leaves it, made once a run and copied."""

import json
import shutil
import tempfile
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

from click.testing import CliRunner

from advisor.cli.main import cli

#: The instant at which the example stands, as `--at` takes it, and on the clock.
AT = "2026-09-10T07:00-04:00"
NOW = datetime(2026, 9, 10, 11, 0, tzinfo=UTC)

_FOLDER = tempfile.TemporaryDirectory(prefix="advisor-tests-")


@cache
def _made() -> Path:
    told = CliRunner().invoke(cli, ["demo", "--into", _FOLDER.name, "--json"])
    assert told.exit_code == 0, told.output
    document = json.loads(told.stdout)
    assert document == {"garden": str(Path(_FOLDER.name) / "garden.db"), "at": AT}
    return Path(document["garden"])


def demo_garden(folder: Path) -> Path:
    """Give a copy of the example garden in a folder."""
    return Path(shutil.copy(_made(), folder / "garden.db"))
