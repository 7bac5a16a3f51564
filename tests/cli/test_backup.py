"""`advisor backup` and `advisor restore` as a grower meets them."""

import json


def spoil(path):
    content = bytearray(path.read_bytes())
    content[8192:-4096] = b"\x5a" * (len(content) - 12288)
    path.write_bytes(content)


def test_from_damage_to_a_whole_garden(garden):
    said = garden.tell("backup")
    copy = garden.path.parent / "garden-copies" / "2026-07-01T050000Z.db"
    assert said == f"{copy}: whole, 7 entries up to 1 July 2026, 07:00.\n"
    garden.tell("watered", "2")
    spoil(garden.path)
    message = garden.refused("watered", "3")
    assert "`advisor restore` puts back the last good copy, 2026-07-01T050000Z.db" in message
    said = garden.tell("restore")
    assert said.splitlines() == [
        f"Put back: {copy}, 7 entries up to 1 July 2026, 07:00.",
        "The file that stood there is kept: "
        f"{garden.path.parent / 'garden-before-2026-07-01T050000Z.db'}"]
    assert list(garden.knows().trees) == ["2", "10", "3"]
    assert not garden.knows().waterings["2"]


def test_a_copy_by_name_and_back(garden, tmp_path):
    target = tmp_path / "elsewhere" / "mine.db"
    told = json.loads(garden.tell("backup", str(target), "--json"))
    row = {"file": str(target), "entries": 7, "until": "2026-07-01T07:00:00+02:00"}
    assert told == {"copies": [row]}
    garden.path.unlink()
    assert json.loads(garden.tell("restore", str(target), "--json")) == {
        "restored": row, "aside": None}
    assert set(garden.knows().trees) == {"2", "3", "10"}


def test_the_copies_are_listed(garden):
    assert garden.tell("backup", "--list") == "No copies yet: `advisor backup` makes one.\n"
    garden.tell("backup", "--at", "2026-07-01T06:00")
    listed = json.loads(garden.tell("backup", "--list", "--json"))
    assert [row["entries"] for row in listed["copies"]] == [7]
    assert "2026-07-01T040000Z.db" in garden.tell("backup", "--list")


def test_what_cannot_be_put_back_is_refused(garden, tmp_path):
    assert "Name a file: `advisor restore FILE`." in garden.refused("restore")
    (tmp_path / "note.db").write_text("watered on Monday " * 99)
    assert "a whole garden file" in garden.refused("restore", str(tmp_path / "note.db"))
    assert "not both" in garden.misused("backup", "x.db", "--list")
