"""What scripts may rest on: small, light, typed, and every name with an example that runs."""

import doctest
import importlib
import json
import shutil
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from demo_made import AT, NOW, demo_garden
from places import ROOT

import advisor
from advisor.cli.main import cli
from advisor.demand.days import site_days

SAMPLE = ROOT / "sample_weather" / "greensboro_2026.csv"
SITE = advisor.Site(36.1, -79.95, 273.0, "America/New_York")
HOURS = pd.date_range("2026-07-01", periods=49, freq="h", tz="UTC")
ASKED = pd.DataFrame({"evaporation_mm": 0.1, "transpiration_mm": 0.2}, index=HOURS)
THIRDS = {"akadama": 1 / 3, "pumice": 1 / 3, "lava": 1 / 3}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a folder with the example garden and the sample weather, as the examples name them."""
    made = tmp_path_factory.mktemp("scripts")
    shutil.copy(SAMPLE, made)
    return demo_garden(made).parent


@pytest.fixture(scope="module")
def year() -> pd.DataFrame:
    return advisor.read_weather(SAMPLE)


def examples(name: str) -> list[doctest.DocTest]:
    """Give the examples of a name, without those of its methods."""
    what = getattr(advisor, name)
    finder = doctest.DocTestFinder(recurse=False, exclude_empty=True)
    return finder.find(what, name, module=importlib.import_module(what.__module__), globs={})


@pytest.mark.parametrize("name", advisor.__all__)
def test_each_name_has_an_example_that_runs(name: str, folder: Path,
                                            monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    (found,) = examples(name)
    said: list[str] = []
    ran = doctest.DocTestRunner(verbose=False).run(found, out=said.append)
    assert ran.attempted >= 2
    assert ran.failed == 0, "".join(said)


@pytest.mark.parametrize("name", advisor.__all__)
def test_readme_lists_each_name(name: str) -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    section = text.split("\n## For scripts\n")[1].split("\n## ")[0]
    assert f"`{name}`" in section


def test_the_script_of_the_readme_runs(folder: Path, monkeypatch: pytest.MonkeyPatch,
                                       capsys: pytest.CaptureFixture[str]) -> None:
    """On the example's own day: the script asks for now."""
    monkeypatch.setenv("ADVISOR_GARDEN", str(folder / "garden.db"))
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    script = text.split("\n## For scripts\n")[1].split("```python\n")[1].split("```")[0]
    exec(script.replace("morning_round(garden)", "morning_round(garden, NOW)"), {"NOW": NOW})
    said = capsys.readouterr().out.splitlines()
    assert "L after draining" in said[0]
    assert len(said) == 21
    assert said[1].startswith("1 water_now")


def test_it_stays_small() -> None:
    assert len(advisor.__all__) <= 10
    assert (ROOT / "advisor" / "py.typed").exists()


def test_to_import_it_loads_nothing() -> None:
    code = ("import sys, advisor; dir(advisor); before = set(sys.modules); advisor.Site; "
            "print(sorted({'numpy', 'pandas', 'click', 'advisor.scripts'} & set(sys.modules)))")
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"


def test_a_name_that_is_none_is_no_attribute() -> None:
    with pytest.raises(AttributeError, match="no attribute 'water_all'"):
        advisor.water_all  # noqa: B018
    assert {"open_garden", "__version__"} <= set(dir(advisor))


# --- a garden ----------------------------------------------------------------------------


def test_the_round_is_that_of_the_command(folder: Path) -> None:
    with advisor.open_garden(folder / "garden.db") as garden:
        found = advisor.morning_round(garden, NOW)
    told = CliRunner().invoke(cli, ["--garden", str(folder / "garden.db"), "morning", "--at", AT,
                                    "--json"])
    assert json.loads(told.stdout) == json.loads(json.dumps(found))


def test_the_garden_of_the_environment_is_opened(folder: Path,
                                                 monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("ADVISOR_GARDEN", str(folder / "garden.db"))
    with advisor.open_garden() as garden:
        assert garden.site() == SITE
    with pytest.raises(advisor.Refused), advisor.open_garden(folder / "none.db"):
        pass


def test_the_weather_of_a_garden_is_that_of_its_file(folder: Path, year: pd.DataFrame) -> None:
    with advisor.open_garden(folder / "garden.db") as garden:
        whole = advisor.weather_hours(garden)
        july = advisor.weather_hours(garden, datetime(2026, 7, 1, tzinfo=UTC),
                                     datetime(2026, 8, 1, tzinfo=UTC))
    for name in ("temp_c", "vapour_kpa", "wind_ms", "ghi_wm2", "rain_mm"):
        assert np.array_equal(whole[name], year[name], equal_nan=True)
    assert july.index[0] == pd.Timestamp("2026-07-01", tz="UTC")
    assert len(july) == 31 * 24


@pytest.mark.parametrize("ask", ["at", "start"])
def test_an_instant_without_an_offset_is_refused(ask: str, folder: Path) -> None:
    naive = datetime(2026, 9, 10, 7)  # noqa: DTZ001
    with advisor.open_garden(folder / "garden.db") as garden, pytest.raises(
            advisor.Refused, match=rf"{ask}: 2026-09-10T07:00:00\. Wanted: an instant with an off"):
        (advisor.morning_round if ask == "at" else advisor.weather_hours)(garden, naive)


# --- ET0 and one pot ---------------------------------------------------------------------


def test_hours_add_up_to_the_days_of_eq_6(year: pd.DataFrame) -> None:
    hourly = pd.Series(advisor.hourly_et0(year, SITE), index=year.index)
    local = hourly.index.tz_convert(SITE.zone).tz_localize(None).normalize()
    days = site_days(SITE, year)["et0_mm"]
    assert hourly.groupby(local).sum().to_numpy() == pytest.approx(days.to_numpy(), abs=1e-9)


def test_a_pot_holds_what_it_holds_in_a_garden() -> None:
    pot = advisor.fill_pot(THIRDS, outside_mm=(350, 250, 60))
    assert pot.soil_l == pytest.approx(2.9, abs=0.01)  # as `advisor trees` tells of tree 2
    assert 0.0 < pot.pot.available_l < pot.held_l < pot.soil_l
    assert advisor.fill_pot(THIRDS, inside_mm=(300, 200), soil_depth_mm=50,
                            condition="broken down").soil_l == pytest.approx(3.0)


def test_a_pot_run_through_hours_dries_and_is_filled_by_what_is_poured() -> None:
    pot = advisor.fill_pot(THIRDS, outside_mm=(350, 250, 60))
    dry = advisor.run_pot(pot, ASKED)
    wet = advisor.run_pot(pot, ASKED.assign(poured_mm=np.where(HOURS.hour == 6, 30.0, 0.0)))
    assert list(dry.columns) == ["left_low", "left_mid", "left_high", "dry_low_mm", "dry_mid_mm",
                                 "dry_high_mm"]
    assert dry.index.equals(HOURS)
    assert np.all(np.diff(dry["left_mid"]) < 0.0)
    assert (dry["left_low"] <= dry["left_mid"]).all()
    assert dry["left_mid"].iloc[-1] < wet["left_mid"].iloc[-1]
    assert wet["left_mid"].iloc[30] == pytest.approx(1.0, abs=0.02)  # just poured
    drunk_l = 0.3 * 6 * pot.pot.surface_m2  # asked for in six hours, while nothing lacks
    assert (1.0 - dry["left_mid"].iloc[6]) * pot.pot.available_l == pytest.approx(drunk_l, rel=0.2)


def test_two_runs_of_one_seed_are_the_same() -> None:
    pot = advisor.fill_pot(THIRDS, outside_mm=(350, 250, 60))
    assert advisor.run_pot(pot, ASKED).equals(advisor.run_pot(pot, ASKED))
    assert not advisor.run_pot(pot, ASKED).equals(advisor.run_pot(pot, ASKED, seed=2))


@pytest.mark.parametrize(("table", "says"), [
    (ASKED.drop(columns="evaporation_mm"), "column evaporation_mm: missing"),
    (ASKED.assign(rain_mm=-1.0), "column rain_mm: missing, with holes or below 0"),
    (ASKED.assign(transpiration_mm=np.nan), "column transpiration_mm"),
    (ASKED.tz_localize(None), "hourly instants with a time zone"),
    (ASKED.reset_index(drop=True), "RangeIndex"),
    (ASKED.iloc[::2], "hour after hour"),
    (ASKED.iloc[:0], "hourly instants")], ids=range(7))
def test_a_table_that_is_none_is_refused(table: pd.DataFrame, says: str) -> None:
    pot = advisor.fill_pot({"pumice": 1.0}, outside_mm=(350, 250, 60))
    with pytest.raises(advisor.Refused, match=says):
        advisor.run_pot(pot, table)


@pytest.mark.parametrize("told", [{}, {"outside_mm": (350, 250, 5)}, {"inside_mm": (300, 200)}])
def test_a_pot_without_soil_is_refused(told: dict[str, tuple[float, ...]]) -> None:
    with pytest.raises(advisor.Refused):
        advisor.fill_pot({"pumice": 1.0}, **told)  # type: ignore[arg-type]


def test_a_material_that_is_none_is_refused() -> None:
    with pytest.raises(advisor.Refused, match="table of materials"):
        advisor.fill_pot({"concrete": 1.0}, outside_mm=(350, 250, 60))
