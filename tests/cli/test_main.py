import os
import subprocess
import sys
from pathlib import Path

import click
import pytest

from advisor import __version__
from advisor.cli import add as adding
from advisor.cli import undo
from advisor.cli.main import REGISTER, cli

#: Modules that `advisor --help` has no use for.
HEAVY = ("numpy", "pandas", "scipy", "numba", "pvlib", "matplotlib", "requests", "sqlite3",
         "advisor.garden", "advisor.jobs", "advisor.pot", "advisor.demand", "advisor.weather",
         "advisor.balance", "advisor.show")


def advisor(*args, **more):
    command = [sys.executable, "-c", "from advisor.cli.main import main; main()", *args]
    return subprocess.run(command, capture_output=True, text=True, check=False, **more)


def test_the_help_lists_every_command_in_the_order_of_work(grower):
    lines = grower.tell("--help").split("Commands:\n")[1].splitlines()
    assert [line.split()[0] for line in lines] == list(REGISTER)
    assert [line.split(None, 1)[1] for line in lines] == [each.help for each in REGISTER.values()]


def test_the_help_loads_nothing_heavy():
    code = ("import sys\nfrom advisor.cli.main import cli\ncli(['--help'], standalone_mode=False)\n"
            f"print([name for name in {HEAVY} if name in sys.modules])")
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.splitlines()[-1] == "[]"


@pytest.mark.parametrize("name", REGISTER)
def test_every_command_is_where_the_register_says(grower, name):
    context = click.Context(cli)
    command = cli.get_command(context, name)
    assert isinstance(command, click.Command)
    assert command.name == name
    assert grower.tell(name, "--help").startswith(f"Usage: cli {name}")


@pytest.mark.parametrize("name", adding.REGISTER)
def test_every_part_of_add_is_where_its_register_says(grower, name):
    assert adding.add.get_command(click.Context(adding.add), name).name == name
    assert "Usage: cli add" in grower.tell("add", name, "--help")


def test_the_version_is_the_package_s(grower):
    assert grower.tell("--version") == f"advisor, version {__version__}\n"


@pytest.mark.parametrize(("typed", "meant"), [
    (("watred",), "Did you mean 'watered'?"), (("add", "plaec"), "Did you mean 'place'?")])
def test_an_unknown_command_is_a_usage_error_with_the_one_meant(grower, typed, meant):
    assert meant in grower.misused(*typed)


def test_an_unknown_command_that_is_like_none_gets_no_guess(grower):
    assert "Did you mean" not in grower.misused("xyzzy")


def test_the_garden_is_named_by_option_or_by_environment(garden, tmp_path):
    for args, env in ((["--garden", str(garden.path)], {}), ([], {"ADVISOR_GARDEN":
                                                                  str(garden.path)})):
        told = advisor(*args, "undo", "--list", env=os.environ | env, cwd=tmp_path)
        assert told.returncode == 0
        assert "started the garden" in told.stdout


def test_a_refusal_is_one_message_and_exit_code_1(tmp_path):
    told = advisor("--garden", str(tmp_path / "none.db"), "trees")
    assert (told.returncode, told.stdout) == (1, "")
    assert told.stderr.strip().endswith("Run `advisor start` to make one, or name another "
                                        "with --garden.")
    assert told.stderr.count("\n") == 1


def test_a_closed_pipe_ends_quietly(garden):
    reading, writing = os.pipe()
    os.close(reading)
    command = [sys.executable, "-c", "from advisor.cli.main import main; main()", "--garden",
               str(garden.path), "undo", "--list"]
    told = subprocess.run(command, stdout=writing, stderr=subprocess.PIPE, check=False)
    os.close(writing)
    assert (told.returncode, told.stderr) == (130, b"")


def test_the_keyboard_ends_quietly(garden, monkeypatch):
    def interrupted(*args):
        raise KeyboardInterrupt

    monkeypatch.setattr(undo, "_show", interrupted)
    result = garden.run("undo", "--list")
    assert (result.exit_code, result.stdout, result.stderr.strip()) == (130, "", "")


def test_the_end_of_the_answers_ends_quietly(grower, somebody_there):
    result = grower.run("start", answers="52\n")
    assert result.exit_code == 130
    assert not grower.path.exists()


def test_help_is_had_by_one_letter(grower):
    assert grower.tell("trees", "-h") == grower.tell("trees", "--help")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_a_full_disk_is_one_message(garden):
    with Path("/dev/full").open("w") as full:
        run = subprocess.run([sys.executable, "-c", "from advisor.cli.main import main; main()",
                              "--garden", str(garden.path), "trees"],
                             stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert run.returncode == 1
    assert run.stderr.startswith("output: No space left on device. ")
    assert run.stderr.count("\n") == 1
