import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from advisor.garden.blobs import pack, unpack

ARRAYS = st.dictionaries(st.text(max_size=5).filter(str.isprintable), hnp.arrays(
    st.sampled_from([np.float64, np.float32, np.int64, np.int8, np.bool_, np.dtype("M8[h]")]),
    hnp.array_shapes(min_dims=0, max_dims=3, min_side=0, max_side=4)), max_size=4)


@settings(max_examples=60, deadline=None)
@given(ARRAYS)
def test_arrays_come_back_as_they_were(arrays):
    back = unpack(pack(arrays))
    assert list(back) == list(arrays)
    for name, array in arrays.items():
        assert back[name].dtype == array.dtype
        assert back[name].shape == array.shape
        assert back[name].tobytes() == array.tobytes()


def test_what_comes_back_can_be_written_to():
    back = unpack(pack({"a": np.zeros(3)}))["a"]
    back[0] = 1.0
    assert back[0] == 1.0


@pytest.mark.parametrize("array", [np.array([object()]), np.array(["text"])])
def test_only_numbers_are_kept(array):
    with pytest.raises(TypeError, match="not kept"):
        pack({"a": array})


def test_a_block_cut_anywhere_is_refused():
    blob = pack({"a": np.arange(3.0), "b": np.ones((2, 2))})
    for cut in range(len(blob)):
        with pytest.raises((ValueError, TypeError)):
            unpack(blob[:cut])
    with pytest.raises(ValueError, match="length"):
        unpack(blob + b"\0")
