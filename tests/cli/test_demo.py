"""`advisor demo`: made and walked offline by a new user, and a garden to go on with."""

import json
import os
import subprocess
import sys
from dataclasses import replace
from datetime import datetime

import pytest
from demo_made import AT, NOW, demo_garden

from advisor.cli.demo import WEATHER, sample
from advisor.garden import example as made

#: Refuses every connection, in whatever process loads it.
NO_NETWORK = '''
import socket
def refuse(*args, **more):
    raise OSError("no network in this test")
socket.socket.connect = socket.create_connection = socket.getaddrinfo = refuse
'''


@pytest.fixture
def example(grower, tmp_path):
    return replace(grower, path=demo_garden(tmp_path), now=NOW)


@pytest.fixture
def newcomer(tmp_path):
    """Give an environment in which nothing was ever stored, but the compiled kernels."""
    from advisor.balance.cache import folder

    (tmp_path / "sitecustomize.py").write_text(NO_NETWORK)
    homes = {name: str(tmp_path / name.lower()) for name in
             ("HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME", "MPLCONFIGDIR")}
    kept = {name: value for name, value in os.environ.items() if name != "ADVISOR_GARDEN"}
    return kept | homes | {"PYTHONPATH": str(tmp_path), "NUMBA_CACHE_DIR": str(folder())}


def advisor(env, cwd, *args):
    command = [sys.executable, "-c", "from advisor.cli.main import main; main()", *args]
    return subprocess.run(command, capture_output=True, text=True, check=False, env=env, cwd=cwd)


def test_a_newcomer_sees_the_round_without_a_network_and_nothing_is_left(newcomer, tmp_path):
    told = advisor(newcomer, tmp_path, "demo")
    assert told.returncode == 0, told.stderr
    assert told.stdout.startswith("Thursday 10 September 2026, 07:00\n")
    assert told.stdout.count("\n\n") == 6
    assert "Kept in" not in told.stdout
    assert "Traceback" not in told.stderr
    assert list(tmp_path.rglob("*.db")) == []


def test_the_network_is_really_refused(newcomer, tmp_path):
    code = "import socket; socket.create_connection(('localhost', 9))"
    told = subprocess.run([sys.executable, "-c", code], env=newcomer, capture_output=True,
                          text=True, check=False)
    assert "no network in this test" in told.stderr


def test_every_other_command_goes_on_with_the_kept_garden(newcomer, tmp_path):
    told = advisor(newcomer, tmp_path, "demo", "--into", "kept", "--json")
    assert told.returncode == 0, told.stderr
    document = json.loads(told.stdout)
    assert document["at"] == AT
    assert (tmp_path / document["garden"]).samefile(tmp_path / "kept" / "garden.db")
    garden = ("--garden", document["garden"])
    for command, says in ((("trees",), "Greybeard"), (("weather", "show"), "Known to Fri 1 Jan"),
                          (("morning",), "to leave."), (("rounds",), "07:00"),
                          (("chart", "15", "--out", "15.png"), "Drawn: 15.png"),
                          (("watered", "--as-listed"), "Watered 1, 2, 3"),
                          (("undo",), "Taken back")):
        result = advisor(newcomer, tmp_path, *garden, *command, "--at", AT)
        assert result.returncode == 0, result.stderr
        assert says in result.stdout
    assert (tmp_path / "15.png").read_bytes().startswith(b"\x89PNG")


def test_the_document_names_the_garden_and_its_instant(grower, tmp_path):
    result = grower.run("demo", "--into", str(tmp_path / "kept"), "--json")
    assert json.loads(result.stdout) == {"garden": str(tmp_path / "kept" / "garden.db"), "at": AT}
    assert result.stderr == ""
    assert datetime.fromisoformat(AT) == made.AT == NOW


def test_a_garden_that_is_there_is_left_alone(grower, tmp_path):
    (tmp_path / "garden.db").write_bytes(b"precious")
    result = grower.run("demo", "--into", str(tmp_path), "--json")
    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr.strip().endswith("Name another folder with --into.")
    assert (tmp_path / "garden.db").read_bytes() == b"precious"


def test_a_file_is_no_folder(grower, tmp_path):
    (tmp_path / "kept").write_text("")
    assert "is a file" in grower.misused("demo", "--into", str(tmp_path / "kept"))


def test_as_listed_is_what_the_round_lists(example):
    due = {tree["tree"]: tree["litres"] for tree in
           json.loads(example.tell("morning", "--json"))["trees"]
           if tree["verdict"] == "water_now"}
    example.tell("watered", "--as-listed")
    watered = {label: [each.litres for each in told if each.at == NOW]
               for label, told in example.knows().waterings.items()}
    assert {label: litres for label, (litres,) in
            ((label, each) for label, each in watered.items() if each)} == due
    example.tell("undo")
    assert {tree["tree"] for tree in json.loads(example.tell("morning", "--json"))["trees"]
            if tree["verdict"] == "water_now"} == set(due)


def test_what_was_watered_just_now_is_not_called_again(example):
    example.tell("watered", "--as-listed")
    after = json.loads(example.tell("morning", "--json"))["trees"]
    assert [tree["tree"] for tree in after if tree["verdict"] == "water_now"] == []


def test_the_example_is_the_garden_that_was_asked_for():
    places = {move.place for _, move, _ in made.TREES}
    assert (len(made.TREES), len(places)) == (20, 5)
    forms = {potting.form for _, _, potting in made.TREES}
    assert {"box", "slab", "small pot"} <= forms
    repotted = [potting for _, _, potting in made.TREES
                if potting.root_work != "none" and (made.AT - potting.at).days <= 7]
    assert len(repotted) == 2
    assert sum(potting.collected for _, _, potting in made.TREES) == 1


def test_the_weather_reaches_sixteen_days_past_the_example():
    last = sample(WEATHER).read_text(encoding="utf-8").splitlines()[-1].split(",")[0]
    assert (datetime.fromisoformat(f"{last}+00:00") - made.AT).days >= 16
