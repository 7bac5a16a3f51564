"""`advisor explain` on the example garden."""

import json
import re
from dataclasses import replace

import pytest
from demo_made import AT, NOW, demo_garden

from advisor.cli.demo import WEATHER, sample
from advisor.show.explain_words import HEADINGS, LABELS, short_source
from advisor.weather import files


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
    weather = {each["key"]: each for each in found["parts"]["weather"]}
    measured = ("temp_mean_c", "temp_low_c", "temp_high_c", "vapour_kpa", "wind_ms", "light_mj",
                "rain_mm", "et0_site_mm")
    assert {key: weather[key]["origin"] for key in measured} == dict.fromkeys(
        measured, "greensboro_2026.csv")


def test_the_day_s_weather_is_that_of_the_file(example):
    """Vapour, wind and light of 9 September 2026 read from the file itself."""
    series = files.read(sample(WEATHER)).hours
    day = series.loc["2026-09-09T04:00Z":"2026-09-10T03:00Z"]
    (found,) = json.loads(example.tell("explain", "3", "--at", AT, "--json"))["trees"]
    weather = {each["key"]: each["value"] for each in found["parts"]["weather"]}
    assert weather["vapour_kpa"] == pytest.approx(day["vapour_kpa"].mean(), abs=1e-4)
    assert weather["wind_ms"] == pytest.approx(0.748 * day["wind_ms"].mean(), rel=1e-3)
    assert weather["light_mj"] == pytest.approx(day["ghi_wm2"].sum() * 0.0036, rel=1e-4)
    assert weather["temp_mean_c"] == pytest.approx(day["temp_c"].mean(), abs=1e-4)


def test_a_place_says_what_it_lets_through(example):
    """The overhang of the example: sheltered, a tenth of the rain, sun till two."""
    (found,) = json.loads(example.tell("explain", "16", "--at", AT, "--json"))["trees"]
    weather = {each["key"]: each["value"] for each in found["parts"]["weather"]}
    assert (weather["wind_share"], weather["rain_share"], weather["skyline"]) == (
        0.5, 0.1, "sun June 7-14, Sept 8-14")


def test_a_tree_looked_at_first_says_how_far_apart_its_figures_lie(example):
    tree = next(each for each in json.loads(example.tell("morning", "--at", AT, "--json"))["trees"]
                if each["verdict"] == "look_first" and not each["recovery"])
    (found,) = json.loads(example.tell("explain", tree["tree"], "--at", AT, "--json"))["trees"]
    (doubt,) = [each for each in found["parts"]["state"] if each["key"] == "doubt"]
    left = tree["available_left"]
    assert doubt["value"] == pytest.approx(left["high"] - left["low"], abs=2e-3)
    assert doubt["value"] > 0.30


def test_every_tree_of_the_example_is_explained(example):
    labels = [each["tree"] for each in json.loads(
        example.tell("morning", "--at", AT, "--json"))["trees"]]
    for label in labels:
        text = example.tell("explain", label, "--at", AT)
        assert not re.search(r"-0\.0+(?!\d)", text)
        assert "nan" not in text


def test_what_is_no_tree_is_refused(example):
    assert "'99'" in example.refused("explain", "99", "--at", AT)
    assert "names 6 trees" in example.refused("explain", "south bench", "--at", AT)


def test_a_source_is_shortened_to_its_tag():
    assert short_source("Of it [judgement; ± .2]; more (A 2010) [published].") == "judgement; ± .2"
    assert short_source("[judgement; a remark that is much too long for a table]") == "judgement"
    assert short_source("as you measured it") == "as you measured it"
