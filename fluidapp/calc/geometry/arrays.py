"""The two number types of the geometry, and what is done with them everywhere."""

from collections.abc import Callable
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array: TypeAlias = NDArray[np.float64]
FloatLike: TypeAlias = float | Array

BLOCK = 8192  # numbers worked on at a time: temporaries then stay in the processor's cache


def vector(values: ArrayLike) -> Array:
    """``values`` as a float array of shape (..., 3)."""
    out = np.asarray(values, dtype=np.float64)
    if out.shape[-1:] != (3,):
        raise ValueError(f"a direction or point has three numbers, got shape {out.shape}")
    return out


def in_blocks(work: Callable[[Array], tuple[Array, ...]], values: Array, results: int) -> tuple[Array, ...]:
    """``work`` applied to a flat array block by block; the results have the length of ``values``."""
    if values.size <= BLOCK:
        return work(values)
    out = tuple(np.empty(values.size) for _ in range(results))
    for start in range(0, values.size, BLOCK):
        part = slice(start, start + BLOCK)
        for whole, piece in zip(out, work(values[part]), strict=True):
            whole[part] = piece
    return out
