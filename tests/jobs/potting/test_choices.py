"""A choice of pot and mix, read as it is written."""

import pytest

from advisor.errors import Refused
from advisor.garden.records import Mix, Potting
from advisor.jobs.potting.choices import NEVER, Known, read_choice, without_drainage

NOW = Potting("1", NEVER, "thirds", outside_mm=(350.0, 250.0, 80.0), drainage_mm=10.0)
OWN = Potting("", NEVER, "", form="box", wall="timber", outside_mm=(500.0, 400.0, 150.0))
KNOWN = Known({"thirds": Mix("thirds", (("akadama", 0.5), ("lava", 0.5)))},
              {"old box": OWN}, NOW)


def read(words: str):
    return read_choice(words, KNOWN)


def test_a_pot_and_a_mix() -> None:
    made = read("oval 420x310x75; 40% akadama, 30% pumice, 30% lava")
    assert (made.potting.outline, made.potting.outside_mm) == ("oval", (420.0, 310.0, 75.0))
    assert [share for _, share in made.mix.parts] == [0.4, 0.3, 0.3]
    assert made.potting.mix == made.mix.name


@pytest.mark.parametrize(("words", "told"), [
    ("round 300x90; thirds", {"outline": "round", "outside_mm": (300.0, 300.0, 90.0)}),
    ("ROUND 300 × 90 mm; thirds", {"outline": "round", "outside_mm": (300.0, 300.0, 90.0)}),
    ("unglazed oval small pot 120x90x40; thirds",
     {"wall": "unglazed", "outline": "oval", "form": "small pot"}),
    ("rectangular 350x250x60; mix thirds", {"outline": "rectangle", "form": "pot"}),
    ("350x250x60; thirds; drainage 15; drainage grain 5; gritty; moss",
     {"drainage_mm": 15.0, "drainage_grain_mm": 5.0, "condition": "gritty", "dressing": "moss"}),
    ("350x250x60; thirds; soil depth 40 mm; mound 20", {"soil_depth_mm": 40.0, "mound_mm": 20.0}),
    ("old box; thirds", {"form": "box", "wall": "timber", "outside_mm": (500.0, 400.0, 150.0)}),
    ("pot Old Box; thirds", {"form": "box"}),
    ("as now", {"outside_mm": (350.0, 250.0, 80.0), "drainage_mm": 10.0}),
    ("as now; as now; drainage 5", {"drainage_mm": 5.0}),
    ("as now; pumice", {"outside_mm": (350.0, 250.0, 80.0), "drainage_mm": 0.0}),
])
def test_what_is_told_of_a_pot(words, told) -> None:
    made = read(words)
    assert {name: getattr(made.potting, name) for name in told} == told


@pytest.mark.parametrize(("words", "parts"), [
    ("as now", ("akadama", "lava")), ("as now; Thirds", ("akadama", "lava")),
    ("as now; pumice", ("pumice 2-5",)),
    ("as now; 70 kanuma, 30 grit", ("kanuma 2-6", "grit 2-4")),
    ("as now; 70% of kanuma, 30% pumice 5–10 mm", ("kanuma 2-6", "pumice 5-10")),
])
def test_what_is_told_of_a_mix(words, parts) -> None:
    found = tuple(name for name, _ in read(words).mix.parts)
    assert [name.split()[0] for name in found] == [name.split()[0] for name in parts]


@pytest.mark.parametrize(("words", "said"), [
    ("oval; thirds", "pot: 'oval'"),
    ("old bx; thirds", "Did you mean 'old box'"),
    ("square 300x90x50; thirds", "kind of pot: 'square'"),
    ("300x90; thirds", "size of a pot: '300x90'"),
    ("3000x9000x50; thirds", "pot width: 9000 mm"),
    ("350x250x60; thirsd", "Did you mean 'thirds'"),
    ("350x250x60; 40% akadama, 30% pumice", "= 70"),
    ("350x250x60; 40% akadma, 60% pumice", "material: 'akadma'"),
    ("350x250x60; thirds; draining 15", "part of a choice: 'draining 15'"),
    ("350x250x60; thirds; drainage 4000", "drainage layer: 4000 mm"),
])
def test_what_is_refused(words, said) -> None:
    with pytest.raises(Refused) as refused:
        read(words)
    assert said in str(refused.value)


def test_without_a_tree_nothing_is_as_now() -> None:
    for words in ("as now; pumice", "350x250x60; as now"):
        with pytest.raises(Refused, match="as now"):
            read_choice(words, Known({}, {}))


def test_the_layer_left_out() -> None:
    assert without_drainage(read("350x250x60; thirds; drainage 15")).potting.drainage_mm == 0.0
