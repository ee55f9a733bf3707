"""Which readings of a measured table look misread: the ones that no true reading next to good neighbours could be.

The judge is roughness: the sum of squared third divided differences. Left out in turn, a reading is foretold by
the three on either side. Reading errors of at most the tolerance can make the foretold value miss by a known most;
a reading that misses by more than that, and whose removal leaves its neighbours in order, is a suspect.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from patterns.affine import Points

ORDER = 3
"""Differences of this order: a parabola, and so nearly every gentle curve, has none."""

LEAST_READINGS = 7
"""Under this many readings it can't be told which of them is the wrong one."""

MOST_SUSPECTS = 0.25
"""Past this part of the table, the table is rough as a whole and no single reading is at fault."""

TYPICAL = 6.0
"""A suspect also misses by this many times what is typical of the table: a tolerance set too fine blames nobody."""

CLEAR = 2.5
"""A suspect misses by this many times what its neighbours still miss by without it."""

FEATURE = 3
"""So many suspects side by side are a feature of the shape (the point of an arch), not misreadings."""


class _Misses(Struct, frozen=True):
    """For each reading: by how much of the allowance it misses, with its sign, and its share of the roughness."""

    part: Points
    share: Points


def misread(stations: Points, values: Points, within: float) -> tuple[int, ...]:
    """The indices of readings that look misread, in order; stations rising, all in mm.

    An end reading has neighbours on one side only, and a springing may truly turn upright there: it is named only
    if it misses to the side away from which the curve turns.
    """
    if len(stations) < LEAST_READINGS:
        return ()
    kept = list(range(len(stations)))
    taken: list[int] = []
    sizes: dict[int, float] = {}
    accepted = 0
    while len(taken) < MOST_SUSPECTS * len(stations):
        misses = _misses(stations[kept], values[kept], within)
        worst = int(np.argmax(misses.share))
        size = abs(float(misses.part[worst]))
        if size <= 1.0:
            break
        taken.append(kept.pop(worst))
        sizes[taken[-1]] = size
        left = _misses(stations[kept], values[kept], within)
        if size > TYPICAL * float(np.median(np.abs(left.part))):
            accepted = len(taken)
    return _single(taken[:accepted], sizes, stations, values, within)


def _misses(stations: Points, values: Points, within: float) -> _Misses:
    """Leave-one-out misses of all readings at once, from the seven bands of K.

    With K = D'D and the roughness y'Ky, the value that would make it least at j misses y_j by (Ky)_j / K_jj, saves
    (Ky)_j² / K_jj, and moves by at most the sum of |K_ji| / K_jj times the error of all readings. For one wrong
    reading among true ones the saving is greatest at that reading itself (Cauchy-Schwarz).
    """
    rows = _differences(stations)
    count = len(rows)
    residue = sum(rows[:, a] * values[a : a + count] for a in range(ORDER + 1))
    force, own, reach = np.zeros((3, len(stations)))
    for a in range(ORDER + 1):
        force[a : a + count] += rows[:, a] * residue
        own[a : a + count] += rows[:, a] ** 2
    reach += own
    for apart in range(1, ORDER + 1):
        band = np.zeros(len(stations) - apart)
        for a in range(ORDER + 1 - apart):
            band[a : a + count] += rows[:, a] * rows[:, a + apart]
        reach[:-apart] += np.abs(band)
        reach[apart:] += np.abs(band)
    return _Misses(force / (within * reach), force * force / own)


def _differences(stations: Points) -> Points:
    """Third divided differences: the factors of the four values of each row, shape (n - 3, 4), each row weighted by
    the root of the stretch it speaks for."""
    window = np.lib.stride_tricks.sliding_window_view(stations, ORDER + 1)
    apart = window[:, :, None] - window[:, None, :] + np.eye(ORDER + 1)
    weighted: Points = np.sqrt(window[:, -1:] - window[:, :1]) / apart.prod(axis=2)
    return weighted


def _single(
    taken: list[int], sizes: dict[int, float], stations: Points, values: Points, within: float
) -> tuple[int, ...]:
    """Those that stand alone: not a feature of the shape, nor an end that turns on the way the curve turns."""
    kept = np.array([k for k in range(len(stations)) if k not in taken])
    left = np.abs(_misses(stations[kept], values[kept], within).part)
    runs: list[list[int]] = []
    for index in sorted(set(taken) - _turning_on(taken, kept, stations, values)):
        if runs and index - runs[-1][-1] <= 2:
            runs[-1].append(index)
        else:
            runs.append([index])
    return tuple(
        index
        for run in runs
        if len(run) < FEATURE
        for index in run
        if sizes[index] > CLEAR * left[np.argsort(np.abs(kept - index), kind="stable")[: 2 * ORDER]].max()
    )


def _turning_on(taken: list[int], kept: NDArray[np.int64], stations: Points, values: Points) -> set[int]:
    """The ends, and the readings next to such an end, that depart to the side to which the curve turns."""
    found: set[int] = set()
    for ends, near in (((0, 1), kept[:ORDER]), ((len(stations) - 1, len(stations) - 2), kept[-ORDER:])):
        for index in ends:
            parabola = np.polyfit(stations[near] - stations[index], values[near], 2)
            if index not in taken or (values[index] - parabola[2]) * parabola[0] <= 0.0:
                break
            found.add(index)
    return found
