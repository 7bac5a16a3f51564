"""`advisor mix measure`: piece by piece, over days, never lost half-done."""

import json

import pytest
from cli.conftest import Grower

from advisor.balance.members import SD_LN_K_C

MEASURE = ("mix", "measure", "third")
BOX = ("--litres", "1", "--depth", "80", "--empty", "95")


def begun(garden: Grower) -> str:
    garden.tell(*MEASURE, *BOX, "--dry", "765", "--dry", "768", "--dry", "763", "--at",
                "2026-06-20T08:00")
    return garden.tell(*MEASURE, "--drained", "1118", "--drained", "1115", "--at",
                       "2026-06-20T10:00")


def dried(garden: Grower, days: int = 4) -> None:
    for i in range(2 * days):
        garden.tell(*MEASURE, "--weight", f"{1116 - 20 * (i + 1) + i * i:g}", "--at",
                    f"2026-06-{20 + (i + 1) // 2}T{('20', '08')[i % 2]}:00")


def state(garden: Grower) -> dict:
    return json.loads(garden.tell(*MEASURE, "--json", "--at", "2026-06-29T08:00"))


def test_it_says_what_comes_next(garden: Grower) -> None:
    assert "Take a straight-sided pot with holes" in garden.tell(*MEASURE)
    said = garden.tell(*MEASURE, *BOX, "--at", "2026-06-20T08:00")
    assert "Weigh it dry, pot and all, three times" in said
    assert "Tell it with --dry GRAMS" in said
    assert "Let it dry bare in a room" in begun(garden)
    dried(garden)
    assert state(garden)["next"] == "keep"


def test_half_done_nothing_is_lost(garden: Grower) -> None:
    begun(garden)
    told = state(garden)
    assert [w["kind"] for w in told["weighings"]] == ["dry"] * 3 + ["drained"] * 2
    assert told["so_far"]["density_kgl"]["mid"] == pytest.approx(0.63, abs=0.02)
    assert 0.36 < told["so_far"]["held"]["mid"] < 0.44
    dried(garden, 2)
    more = state(garden)
    assert more["so_far"]["creep_cmh"]["high"] / more["so_far"]["creep_cmh"]["low"] < (
        told["so_far"]["creep_cmh"]["high"] / told["so_far"]["creep_cmh"]["low"])


def test_a_weight_not_after_the_drained_one_is_refused_and_not_kept(garden: Grower) -> None:
    begun(garden)
    before = state(garden)
    assert "0.0 days after it had drained" in garden.refused(
        *MEASURE, "--weight", "1100", "--at", "2026-06-20T10:00")
    assert state(garden) == before


def test_a_wrong_weight_is_shown_and_taken_back(garden: Grower) -> None:
    begun(garden)
    dried(garden)
    said = garden.tell(*MEASURE, "--weight", "1900", "--at", "2026-06-28T08:00")
    assert "left out: about" in said
    assert "too heavy" in said
    garden.tell("undo")
    assert "left out" not in garden.tell(*MEASURE)


def test_kept_values_count_at_once(garden: Grower) -> None:
    begun(garden)
    dried(garden)
    before = garden.tell("add", "tree", "10", "--outside", "350x250x60")
    said = garden.tell(*MEASURE, "--keep", "--at", "2026-06-29T08:00")
    assert "Kept: from now on every pot filled with third" in said
    mix = garden.knows().mixes["third"]
    assert mix.measured_depth_mm == 80.0
    assert 0.36 < mix.measured_capacity < 0.44
    assert 0.02 < mix.measured_sd < 0.12
    assert mix.measured_k_c_cmh > 0.0
    assert 0.1 < mix.measured_sd_ln_k_c < SD_LN_K_C  # narrower than that of any mix
    assert 1.5 < mix.measured_vapour_depth_mm < 8.0
    after = garden.tell("add", "tree", "10", "--outside", "350x250x61")
    assert after.split("holds")[1] != before.split("holds")[1]
    garden.tell("undo")
    garden.tell("undo")
    assert garden.knows().mixes["third"].measured_capacity is None


def test_a_container_told_again_begins_anew(garden: Grower) -> None:
    begun(garden)
    garden.tell(*MEASURE, "--litres", "2", "--depth", "100", "--empty", "150", "--at",
                "2026-06-25T08:00")
    told = state(garden)
    assert told["container"]["litres"] == 2.0
    assert told["weighings"] == []


def test_on_a_terminal_it_asks_and_keeps_every_answer(
        garden: Grower, request: pytest.FixtureRequest) -> None:
    request.getfixturevalue("somebody_there")  # once the garden is there
    result = garden.run(*MEASURE, answers="1\n80\n95\nindoors\n765\n\n")
    assert result.exit_code == 0, result.output
    assert [w["grams"] for w in json.loads(garden.tell(*MEASURE, "--json"))["weighings"]] == [765.0]
    broken = garden.run(*MEASURE, answers="768\n")  # the keyboard falls silent
    assert broken.exit_code == 130
    assert [w["grams"] for w in json.loads(garden.tell(*MEASURE, "--json"))["weighings"]] == [
        765.0, 768.0]


@pytest.mark.parametrize(("args", "said"), [
    (("mix", "measure", "thrd", *BOX), "Did you mean 'third'"),
    ((*MEASURE, "--dry", "700"), "no container told"),
    ((*MEASURE, "--keep"), "not weighed enough"),
    ((*MEASURE, *BOX, "--dry", "-5"), "weight, dry: -5 g"),
    ((*MEASURE, "--litres", "0", "--depth", "80", "--empty", "95"), "container: 0 L"),
])
def test_what_is_refused(garden: Grower, args, said) -> None:
    assert said in garden.refused(*args)


def test_what_is_misused(garden: Grower) -> None:
    assert "--litres, --depth and --empty together" in garden.misused(*MEASURE, "--litres", "1")
    assert "with the container" in garden.misused(*MEASURE, "--outdoors")


def test_outdoors_needs_the_weather(garden: Grower) -> None:
    garden.tell(*MEASURE, *BOX, "--outdoors", "--at", "2026-06-20T08:00")
    said = garden.run(*MEASURE, "--dry", "765", "--drained", "1115", "--at", "2026-06-20T10:00")
    assert said.exit_code == 1
    assert "weather" in said.stderr
