"""Sorted arrays without doubles.

``numpy.unique`` imports ``numpy.ma`` when it is first called, which takes longer than all the sorting of a job.
"""

from __future__ import annotations

from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

Number = TypeVar("Number", bound=np.generic)


def distinct(values: NDArray[Number]) -> NDArray[Number]:
    """The values of a one-dimensional array, ascending, each once."""
    ordered = np.sort(values)
    return ordered[_firsts(ordered)]


def distinct_rows(rows: NDArray[Number]) -> NDArray[Number]:
    """The rows of a table (n, k), ascending by column, each once."""
    ordered = rows[np.lexsort(rows.T[::-1])]
    new = np.ones(len(ordered), dtype=np.bool_)
    new[1:] = (ordered[1:] != ordered[:-1]).any(axis=1)
    return ordered[new]


def group_starts(ordered: NDArray[Any]) -> NDArray[np.int64]:
    """Where each run of equal values begins in an ascending array."""
    return np.flatnonzero(_firsts(ordered))


def _firsts(ordered: NDArray[Any]) -> NDArray[np.bool_]:
    new = np.ones(len(ordered), dtype=np.bool_)
    new[1:] = ordered[1:] != ordered[:-1]
    return new
