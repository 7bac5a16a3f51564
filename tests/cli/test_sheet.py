import pytest

from advisor.garden.store import Garden


@pytest.fixture
def sheet(garden, tmp_path):
    """The trees of the garden, written out."""
    path = tmp_path / "trees.csv"
    assert garden.tell("export", str(path)) == f"3 trees written to {path}.\n"
    return path


def test_what_goes_out_comes_in_again_without_loss(garden, sheet, grower, tmp_path):
    assert garden.tell("import", str(sheet)) == f"{sheet} tells nothing new.\n"
    assert garden.run("export", "-").stdout_bytes == sheet.read_bytes()
    other = type(garden)(tmp_path / "other.db")
    other.tell("start", "--latitude", "52.1", "--longitude", "13.2", "--time-zone",
               "Europe/Berlin", "--at", "2026-03-01T09:00")
    other.tell("add", "place", "south bench")
    other.tell("add", "place", "wall")
    other.tell("add", "mix", "third", "--part", "akadama=40", "--part", "pumice=30",
               "--part", "lava=30")
    assert other.tell("import", str(sheet)) == (
        f"Brought in 3 trees (3 new, 0 changed) from {sheet}.\n")
    assert other.tell("export", "-") == garden.tell("export", "-")


def test_a_dry_run_says_what_would_come_and_writes_nothing(garden, sheet):
    sheet.write_text(sheet.read_text().replace("larch", "spruce"))
    before = garden.path.read_bytes()
    with Garden.open(garden.path, readonly=True) as opened:
        revision = opened.revision()
    assert garden.tell("import", str(sheet), "--dry-run") == (
        f"Would bring in 1 tree (0 new, 1 changed) from {sheet}; nothing written.\n"
        "Changed: 3 (group).\n")
    with Garden.open(garden.path, readonly=True) as opened:
        assert opened.revision() == revision
    assert garden.path.read_bytes() == before
    garden.tell("import", str(sheet))
    assert garden.knows().trees["3"].group == "spruce"
    assert garden.tell("undo").startswith("Taken back: 8, brought in 1 tree (0 new, 1 changed) "
                                          "from trees.csv")


@pytest.mark.parametrize("dry", [(), ("--dry-run",)])
def test_every_cell_that_cannot_be_used_is_listed(garden, sheet, dry):
    text = sheet.read_text().replace(",wall,2026", ",wal,2026")
    sheet.write_text(text.replace("medium", "thick"))
    said = garden.refused("import", str(sheet), *dry)
    assert said.startswith(f"{sheet}: 4 cells in 3 rows refused, nothing written.")
    assert "line 4, place: 'wal'" in said
    assert "lines 2 to 4, density: 'thick'" in said


def test_every_tree_that_cannot_be_reckoned_with_is_listed(garden, sheet):
    text = sheet.read_text().replace("larch", "blob")
    sheet.write_text(text.replace("maple", "blub"))
    said = garden.refused("import", str(sheet), "--dry-run")
    assert "line 2, group: 'blub'" in said
    assert "line 4, group: 'blob'" in said


def test_a_file_cut_off_half_way_is_refused(garden, sheet):
    data = sheet.read_bytes()
    sheet.write_bytes(data[: len(data) - 40])
    assert "line 4" in garden.refused("import", str(sheet))


def test_a_file_that_is_not_there_or_no_text_is_refused(garden, tmp_path):
    assert "No such file" in garden.refused("import", str(tmp_path / "none.csv"))
    (tmp_path / "x.csv").write_bytes(b"\xff\x00\xfe")
    assert "UTF-8" in garden.refused("import", str(tmp_path / "x.csv"))


def test_an_export_overwrites_nothing(garden, sheet):
    before = sheet.read_bytes()
    assert "a file that does not exist yet" in garden.refused("export", str(sheet))
    assert sheet.read_bytes() == before


def test_trees_that_are_gone_stay_out_of_the_file_and_keep_their_label(garden, sheet, tmp_path):
    garden.tell("gone", "10", "--at", "2026-06-01")
    out = tmp_path / "left.csv"
    assert garden.tell("export", str(out)) == (
        f"2 trees written to {out}; 1 gone tree left out.\n")
    assert "\n10," not in out.read_text()
    assert "label: '10' is that of a tree that is gone" in garden.refused("import", str(sheet))


def test_kinds_and_pots_are_listed_with_all_that_is_refused(garden, tmp_path):
    path = tmp_path / "new.csv"
    path.write_text("label,group,crown width [cm],potted,mix,outside length [mm],"
                    "outside width [mm],outside height [mm],drainage layer [mm]\n"
                    "5,blob,x,2026-04-01,third,350,250,60,0\n"
                    "6,pine,40,2026-04-01,third,350,250,60,59\n"
                    "7,blub,40,2026-04-01,third,350,250,60,0\n")
    said = garden.refused("import", str(path))
    assert said.startswith(f"{path}: 4 cells in 3 rows refused, nothing written.")
    for each in ("line 2, crown width [cm]: 'x'", "line 2, group: 'blob'",
                 "line 3, drainage layer of 6: 59 mm", "line 4, group: 'blub'"):
        assert each in said


def test_a_dry_run_names_the_trees_and_takes_percent(garden, tmp_path):
    path = tmp_path / "new.csv"
    path.write_text("label,group,limit [share],name\n5,pine,,\n2,maple,50 %,Bea\n")
    assert garden.tell("import", str(path), "--dry-run").splitlines()[1:] == [
        "New: 5.", "Changed: 2 (name, limit)."]
    garden.tell("import", str(path))
    assert garden.knows().trees["2"].limit == 0.5
