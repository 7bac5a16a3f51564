import pytest
from click.testing import CliRunner

from advisor.cli.main import cli
from advisor.garden.records import Site

START = ("start", "--latitude", "52.1", "--longitude", "13.2", "--time-zone", "Europe/Berlin")


def test_a_garden_is_started_and_says_what_comes_next(grower):
    assert grower.tell(*START) == (
        f"Garden started: {grower.path} (52.1° N, 13.2° E, 0 m, Europe/Berlin).\n"
        "Taken as default: height above the sea 0 m.\n"
        "Next: `advisor add place`, `advisor add mix`, `advisor add tree`, then "
        "`advisor weather add FILE`.\n")
    assert grower.knows().site == Site(52.1, 13.2, 0.0, "Europe/Berlin")


def test_southern_and_western_places_are_negative_numbers(grower):
    told = grower.tell("start", "--latitude", "-33.9", "--longitude", "-70.6", "--elevation",
                       "520", "--time-zone", "America/Santiago")
    assert "(33.9° S, 70.6° W, 520 m, America/Santiago)" in told


def test_without_a_terminal_what_is_missing_is_a_usage_error(grower):
    assert "Missing option '--latitude'." in grower.misused("start")
    assert not grower.path.exists()


def test_on_a_terminal_what_is_missing_is_asked_until_it_can_be_used(grower, somebody_there):
    result = grower.run("start", answers="fifty\n52.1\n13.2\n\nEurope/Berlin\n")
    assert result.exit_code == 0, result.output
    assert "Write it as 2.5." in result.stderr
    assert "Height above the sea in metres [0 m]:" in result.stderr
    assert "Taken as default" not in result.stdout  # it was shown and accepted
    assert grower.knows().site == Site(52.1, 13.2, 0.0, "Europe/Berlin")


def test_an_unknown_zone_is_refused_with_the_one_meant(grower):
    assert "Did you mean 'Europe/Berlin'?" in grower.refused(*START[:-1], "Europe/Berlni")


def test_a_latitude_off_the_globe_is_refused(grower):
    assert "-90 to 90 °" in grower.refused("start", "--latitude", "95", *START[3:])


def test_a_garden_that_is_there_is_left_alone(garden):
    assert "a file that does not exist yet" in garden.refused(*START)


def test_where_none_is_named_the_garden_is_in_the_user_s_data_folder(tmp_path, monkeypatch):
    monkeypatch.setattr("platformdirs.user_data_dir", lambda *args, **more: str(tmp_path / "data"))
    result = CliRunner().invoke(cli, START)
    assert result.exit_code == 0, result.output
    assert (tmp_path / "data" / "garden.db").exists()


@pytest.mark.parametrize(("longitude", "zone", "do"), [
    ("-122.4", "Asia/Tokyo", "Did you mean 122.4? East is positive, west negative."),
    ("13.4", "Asia/Tokyo", "Check longitude and time zone.")])
def test_a_longitude_on_another_side_of_the_world_is_refused(grower, longitude, zone, do):
    said = grower.refused("start", "--latitude", "35", "--longitude", longitude,
                          "--time-zone", zone)
    assert said.startswith(f"longitude: {longitude}°. Wanted: ")
    assert said.endswith(do)


@pytest.mark.parametrize(("longitude", "zone"), [
    ("75", "Asia/Shanghai"), ("-175", "Pacific/Apia"), ("179", "Pacific/Fiji")])
def test_a_clock_somewhat_off_its_sun_is_taken(grower, longitude, zone):
    grower.tell("start", "--latitude", "10", "--longitude", longitude, "--time-zone", zone)
