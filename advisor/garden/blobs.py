"""Numpy arrays as bytes: a small header that says what follows, then the plain numbers.

    b"NUM1" | length of the header, 4 bytes | header, JSON: [[name, dtype, shape], …] | numbers

No code is ever stored or run, so a damaged file can only be refused.
"""

import json
import math
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

_MAGIC = b"NUM1"
_KINDS = "iufbM"


def pack(arrays: Mapping[str, NDArray[Any]]) -> bytes:
    """Write named arrays of numbers (or datetime64) as bytes.

    Raises
    ------
    TypeError
        An array holds something else than numbers (objects, text).
    """
    header, body = [], []
    for name, given in arrays.items():
        array = np.asarray(given)
        if array.dtype.kind not in _KINDS:
            raise TypeError(f"{name}: arrays of {array.dtype} are not kept")
        array = array.astype(array.dtype.newbyteorder("<"))
        header.append([name, array.dtype.str, list(array.shape)])
        body.append(array.tobytes())
    head = json.dumps(header, separators=(",", ":")).encode()
    return b"".join([_MAGIC, len(head).to_bytes(4, "little"), head, *body])


def unpack(blob: bytes) -> dict[str, NDArray[Any]]:
    """Read back what `pack` wrote; the arrays can be written to.

    Raises
    ------
    ValueError
        The bytes are not whole.
    """
    if blob[:4] != _MAGIC:
        raise ValueError("not a block of numbers")
    start = 8 + int.from_bytes(blob[4:8], "little")
    arrays = {}
    for name, dtype, shape in json.loads(blob[8:start]):
        count = math.prod(shape)
        array = np.frombuffer(blob, dtype=np.dtype(dtype), count=count, offset=start)
        arrays[name] = array.reshape(shape).copy()
        start += array.nbytes
    if start != len(blob):
        raise ValueError("a block of numbers of another length")
    return arrays
