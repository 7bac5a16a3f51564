"""Trees from and to CSV."""

import contextlib
from datetime import UTC, datetime

import pytest
from garden.told import BENCH, DAY, MIX, NOW, POTTED, gardens, pot, start
from hypothesis import given, settings

from advisor.errors import ManyRefused, Refused
from advisor.garden.columns import COLUMNS
from advisor.garden.records import Move, Potting, Tree
from advisor.garden.spreadsheet import read_trees, trees_text, write_trees

HEADER = ("label,group,place,potted,mix,outside length [mm],outside width [mm],"
          "outside height [mm]")


@pytest.fixture
def garden(tmp_path):
    with start(tmp_path / "garden.db") as garden:
        yield garden


@pytest.fixture
def read(garden, tmp_path):
    def read(text, encoding="utf-8"):
        path = tmp_path / "trees.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
        return read_trees(path, garden.knowledge(), NOW)

    return read


def keep(garden, records):
    with garden.entry(NOW, "told") as entry:
        for record in records:
            entry.add(record)


def refusals(read, text):
    with pytest.raises(ManyRefused) as refused:
        read(text)
    return [str(refusal) for refusal in refused.value.refusals]


def current(garden):
    known = garden.knowledge()
    return {label: (tree, known.pottings[label][-1:], known.moves[label][-1:])
            for label, tree in known.trees.items()}


@settings(max_examples=60, deadline=None)
@given(gardens())
def test_what_is_written_reads_back_as_the_same_trees(tmp_path_factory, told):
    folder = tmp_path_factory.mktemp("trees")
    path = folder / "trees.csv"
    with start(folder / "a.db") as first, start(folder / "b.db") as second:
        keep(first, told)
        write_trees(path, first.knowledge())
        keep(second, read_trees(path, second.knowledge(), NOW))
        assert current(second) == current(first)
        assert trees_text(second.knowledge()) == path.read_bytes().decode()
        assert read_trees(path, first.knowledge(), NOW) == []  # nothing new to those who wrote it


def test_a_plain_row_gives_tree_pot_and_place(read):
    assert read(f"{HEADER}\n3,pine,south bench,2026-04-01,Third each,350,250,60\n") == [
        Tree("3", "pine"),
        Potting("3", datetime(2026, 4, 1, 10, tzinfo=UTC), MIX.name,  # noon in Berlin
                outside_mm=(350.0, 250.0, 60.0)),
        Move("3", datetime(2026, 4, 1, 10, tzinfo=UTC), "south bench"),
    ]


ROW = ["3,pine,wall,2026-04-01,third each,350,250,60"]


@pytest.mark.parametrize("text", [
    "\n".join([HEADER, *ROW]), "\r\n".join([HEADER, *ROW, ""]),
    "\ufeff" + "\n".join([HEADER, *ROW]),
    "\n".join([HEADER, *ROW]).replace(",", ";"), "\n".join([HEADER, *ROW]).replace(",", "\t"),
    "\n".join([HEADER + ",,", ",,,,,,,,,", ROW[0] + ",,", ""]), "\n\n" + "\n".join([HEADER, *ROW]),
    "\n".join([HEADER.upper().replace("[MM]", "[mm]"), *ROW]),
    "\n".join([HEADER.replace("[mm]", "[cm]"), "3,pine,wall,2026-04-01,third each,35,25,6"]),
    "\n".join([HEADER, '"3",pine,"wall",2026-04-01 12:00+02:00,third each,350.0, 250 ,6e1']),
])
def test_what_spreadsheets_write_reads_alike(read, text):
    assert read(text) == read("\n".join([HEADER, *ROW]))


def test_utf_16_is_read(read):
    text = "label\tgroup\nFöhre\tpine\n"
    assert read(text.encode("utf-16")) == read(text) == [Tree("Föhre", "pine")]


@pytest.mark.parametrize(("header", "cell", "width"), [
    ("crown width [cm]", "40", 40.0), ("crown width [mm]", "400", 40.0),
    ("crown width [in]", "10", 25.4), ("Crown Width [cm]", "40.5", 40.5),
])
def test_sizes_are_read_in_their_unit(read, header, cell, width):
    (tree,) = read(f"label,group,{header}\n3,pine,{cell}\n")
    assert tree.crown_width_cm == pytest.approx(width, rel=1e-12)


def test_semicolons_come_with_decimal_commas(read):
    (tree,) = read("label;group;crown width [cm]\n3;pine;40,5\n")
    assert tree.crown_width_cm == 40.5
    (tree,) = read("label;group;crown width [cm]\n3;pine;40.5\n")
    assert tree.crown_width_cm == 40.5


def test_every_fault_is_listed_by_line_column_value_and_rule(garden, read):
    before = garden.revision()
    text = "\n".join([
        HEADER + ",wall,recovery [days]",
        "1,pine,south bench,2026-04-01,third each,350,250,60,closed,40",
        "2,pine,sout bench,2026-04-01,third each,350,250,60,clsed,",
        "3,,wall,soon,third each,35O,250,60,,2.5",
        "4,pine,wall,,third each,350,250,60,,",
        "5,pine,wall,2026-04-01,clay,350,,60,,",
        "1,oak,,,,,,,,",
        ",oak,,,,,,,,",
        "8,oak",
    ])
    found = refusals(read, text)
    for start_, has in [
        ("line 3, place: 'sout bench'", "Did you mean 'south bench'"),
        ("line 3, wall: 'clsed'", "Did you mean 'closed'"),
        ("line 4, potted: 'soon'", "2026-04-01"),
        ("line 4, outside length [mm]: '35O'", "a number"),
        ("line 4, recovery [days]: '2.5'", "whole number"),
        ("line 5, potted: nothing", "the day it was potted"),
        ("line 6, mix: 'clay'", "advisor add mix"),
        ("line 6, outside: a part of it", "all its sizes"),
        ("line 7, label: '1'", "each tree once"),
        ("line 8, label: nothing", "a label"),
        ("line 9: 2 cells", "10, as in the first line"),
    ]:
        assert any(each.startswith(start_) and has in each for each in found), (start_, found)
    assert garden.revision() == before


def test_the_whole_message_says_that_nothing_was_written(read):
    with pytest.raises(ManyRefused, match="1 row refused, nothing written"):
        read("label,group,limit [share]\n3,pine,40\n")


@pytest.mark.parametrize(("header", "says"), [
    ("lable,group", "Did you mean 'label'"), ("label,crown width", "'crown width [cm]'"),
    ("label,crown widht [cm]", "Did you mean 'crown width [cm]'"),
    ("label,crown width [m]", "units: mm, cm, in"), ("label,group [cm]", "written as 'group'"),
    ("label,potted [day]", "written as 'potted'"), ("label,Label", "named twice"),
    ("group,place", "no column 'label'"), ("label,bonus", "column of the list of trees"),
])
def test_a_header_that_cannot_be_used_is_refused(read, header, says):
    assert any(says in each for each in refusals(read, f"{header}\n3,4\n"))


@pytest.mark.parametrize("cell", ["nan", "inf", "1_0", "4,5", "1.234,5", "0x10", "40 cm", "٣"])
def test_cells_that_are_no_number_are_refused(read, cell):
    assert refusals(read, f'label,group,crown width [cm]\n3,pine,"{cell}"\n')


@pytest.mark.parametrize(("cell", "says"), [
    ("2026-10-25 02:30", "Add the offset"), ("2026-02-30", "2026-04-01"), ("01.04.2026", "2026-04"),
    ("2026-12-01", "not after"), ("1066-01-01", "1900"),
])
def test_days_that_cannot_be_are_refused(read, cell, says):
    found = refusals(read, f"{HEADER}\n3,pine,,{cell},third each,350,250,60\n")
    assert any(each.startswith("line 2, potted") and says in each for each in found)


@pytest.mark.parametrize(("data", "says"), [
    (b"", "a row of column names"), (b"\n \n", "a row of column names"),
    ("label,group\nFöhre,pine\n".encode("latin-1"), "CSV UTF-8"),
    (b'label,group\n"3,pine\n', "whole"),
])
def test_a_file_that_cannot_be_read_is_refused(read, data, says):
    with pytest.raises(Refused, match=says):
        read(data)


def test_a_missing_file_is_refused(garden, tmp_path):
    with pytest.raises(Refused, match="rights"):
        read_trees(tmp_path / "none.csv", garden.knowledge(), NOW)


def test_a_file_cut_anywhere_gives_whole_trees_or_a_refusal(garden, tmp_path):
    keep(garden, [Tree('a; "b"', "pine"), pot('a; "b"'), Move('a; "b"', POTTED, "wall")])
    whole, path = trees_text(garden.knowledge()).encode(), tmp_path / "cut.csv"
    told = []
    for size in range(0, len(whole), 7):
        path.write_bytes(whole[:size])
        with contextlib.suppress(Refused):
            told += read_trees(path, garden.knowledge(), NOW)
    assert told == []  # the one row is there or is not: no cut makes another tree of it


# --- trees known already ---------------------------------------------------------------


@pytest.fixture
def planted(garden):
    keep(garden, [Tree("3", "pine", "old one", crown_width_cm=40.0), pot("3", wall="timber"),
                  Move("3", POTTED, "wall")])
    return garden


@pytest.mark.parametrize(("text", "expected"), [
    ("label,group\n3,pine\n", []),
    ("label,group,place\n3,pine,WALL\n", []),
    ("label,name\n3,new one\n", [Tree("3", "pine", "new one", crown_width_cm=40.0)]),
    ("label,name\n3,\n", [Tree("3", "pine", "", crown_width_cm=40.0)]),
    ("label,place\n3,south bench\n", [Move("3", NOW, "south bench")]),
    ("label,place\n3,\n", []),
    ("label,wall\n3,closed\n", [pot("3")]),
    ("label,wall,soil depth [mm]\n3,,41\n", [pot("3", soil_depth_mm=41.0)]),
    ("label,place,in place since\n3,wall,2026-06-30T05:00Z\n", [Move("3", NOW - DAY, "wall")]),
])
def test_only_what_is_new_is_told(planted, read, text, expected):
    assert read(text) == expected


def test_a_column_left_out_leaves_what_is_known(planted, read):
    keep(planted, read("label,soil depth [mm]\n3,41\n"))
    assert planted.knowledge().pottings["3"] == (pot("3", wall="timber", soil_depth_mm=41.0),)


def test_another_day_is_another_potting(planted, read):
    (potting,) = read(f"{HEADER}\n3,pine,,2026-06-30,third each,300,200,50\n")
    keep(planted, [potting])
    assert [p.wall for p in planted.knowledge().pottings["3"]] == ["timber", "closed"]


def test_a_place_since_a_day_needs_its_name(planted, read):
    assert refusals(read, "label,in place since\n3,2026-06-30\n")[0].startswith("line 2, place")


# --- writing ---------------------------------------------------------------------------


def test_the_list_reads_as_a_person_writes(planted):
    header, row, *rest = trees_text(planted.knowledge()).split("\r\n")
    assert header.startswith("label,group,name,crown width [cm],crown depth [cm],density")
    assert row.startswith(
        "3,pine,old one,40,,medium,,,,no,wall,2026-04-02 07:00+02:00,2026-04-02 07:00+02:00,"
        "third each,pot,rectangle,350,250,60,,,,,1,0,timber,")
    assert rest == [""]


def test_every_field_has_a_column():
    for kind, record in (("tree", Tree), ("potting", Potting)):
        fields = {column.field for column in COLUMNS if column.record == kind}
        assert fields == set(record.__dataclass_fields__) - {"tree"}


def test_writing_never_overwrites(planted, tmp_path):
    path = tmp_path / "trees.csv"
    path.write_text("mine")
    with pytest.raises(Refused, match="does not exist yet"):
        write_trees(path, planted.knowledge())
    assert path.read_text() == "mine"
    with pytest.raises(Refused, match="may be written"):
        write_trees(tmp_path / "no folder" / "trees.csv", planted.knowledge())


def test_an_empty_garden_is_a_header(garden, read):
    text = trees_text(garden.knowledge())
    assert text.count("\r\n") == 1
    assert read(text) == []
    assert BENCH.name not in text
