"""The packaged year is what its README says, and can be made again."""

from pathlib import Path

from advisor.weather import files, series

SAMPLE = Path(__file__).parents[2] / "sample_weather" / "greensboro_2026.csv"


def test_it_is_made_again_by_the_call_in_its_readme(greensboro: Path, tmp_path: Path) -> None:
    files.write_csv(files.read(greensboro, year=2026), tmp_path / "again.csv", short=True)
    assert (tmp_path / "again.csv").read_text() == SAMPLE.read_text()


def test_it_is_small_complete_and_within_reason() -> None:
    assert SAMPLE.stat().st_size < 500_000
    year = files.read(SAMPLE)
    hours = year.hours
    assert len(hours) == 8760
    assert hours[list(series.COLUMNS)].notna().all(axis=None)
    assert round(hours["rain_mm"].sum(), 1) == 834.5
    assert series.doubts(hours) == ()
    # monthly means within what the place has in the long mean, from memory
    by_month = hours["temp_c"].groupby(hours.index.month).mean()  # type: ignore[attr-defined]
    assert -2 < by_month[1] < 8
    assert 23 < by_month[7] < 28
    assert "nominal" in year.notes[0]


def test_it_is_told_where_it_comes_from() -> None:
    year = files.read(SAMPLE)
    assert "TMY3" in year.source
    assert "US Government" in year.licence
    readme = (SAMPLE.parent / "README.md").read_text()
    for words in ("BSD-3", "834.5 mm", "2026 is nominal", "NREL/TP-581-43156"):
        assert words in readme
