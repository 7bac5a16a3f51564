"""`advisor explain` on the example garden."""

import json
from dataclasses import replace

import pytest
from demo_made import AT, NOW, demo_garden

from advisor.show.explain_words import HEADINGS, LABELS, short_source


@pytest.fixture
def example(grower, tmp_path):
    return replace(grower, path=demo_garden(tmp_path), now=NOW)


def test_the_text_says_what_the_document_says(example):
    text = example.tell("explain", "3", "--at", AT)
    (found,) = json.loads(example.tell("explain", "3", "--at", AT, "--json"))["trees"]
    (tree,) = [each for each in json.loads(example.tell("morning", "--at", AT, "--json"))["trees"]
               if each["tree"] == "3"]
    assert {key: found[key] for key in ("verdict", "litres", "why")} == {
        key: tree[key] for key in ("verdict", "litres", "why")}
    for sentence in (*found["why"], *(each["why"] for each in found["would_change"])):
        assert sentence in text
    assert list(found["parts"]) == list(HEADINGS)
    for part in found["parts"].values():
        for number in part:
            assert number["origin"]
            assert LABELS[number["key"]] in text
    left = next(each for each in found["parts"]["state"] if each["key"] == "left")
    assert (round(left["low"], 3), round(left["value"], 3)) == (
        tree["available_left"]["low"], tree["available_left"]["mid"])
    assert "Estimates, not orders" in text


def test_the_weather_says_whose_it_is(example):
    (found,) = json.loads(example.tell("explain", "3", "--at", AT, "--json"))["trees"]
    assert found["day"] == "2026-09-09"
    assert {each["key"]: each["origin"] for each in found["parts"]["weather"]} == dict.fromkeys(
        ("temp_mean_c", "temp_low_c", "temp_high_c", "rain_mm", "et0_site_mm"),
        "greensboro_2026.csv")


def test_every_tree_of_the_example_is_explained(example):
    labels = [each["tree"] for each in json.loads(
        example.tell("morning", "--at", AT, "--json"))["trees"]]
    for label in labels:
        text = example.tell("explain", label, "--at", AT)
        assert "-0.00" not in text
        assert "nan" not in text


def test_what_is_no_tree_is_refused(example):
    assert "'99'" in example.refused("explain", "99", "--at", AT)
    assert "names 6 trees" in example.refused("explain", "south bench", "--at", AT)


def test_a_source_is_shortened_to_its_tag():
    assert short_source("Of it [judgement; ± .2]; more (A 2010) [published].") == "judgement; ± .2"
    assert short_source("[judgement; a remark that is much too long for a table]") == "judgement"
    assert short_source("as you measured it") == "as you measured it"
