"""Which of the usual arches a measured table comes nearest to.

Each kind is laid on the readings by least squares of the distance square to the curve, with its rise, its two
springings along the edge and the depth of its springing line free. Radii follow each kind's own rule.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Literal

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from patterns.affine import Affine, Points
from patterns.arches import KINDS, Arch, ArchKind, ArchRadius, arch, rise_limits
from patterns.crossings import nearest_to_each
from patterns.curve import Curve
from patterns.fitting import TableError, checked_offsets

SPRINGING_PLAY = 0.05
"""A springing may lie so far from the end of the table, as a part of the table's length."""

LEAST_RISE = 1e-3
"""The flattest arch tried, as a part of the span."""

TALLEST_RISE = 3.0
"""The tallest arch tried, as a part of the span."""


SETTLED = 1e-12
"""Change at which a laid arch has settled, as a part of the table's length."""

MOST_ROUNDS = 60
"""Rounds of the fit; most settle in 10, and one that creeps along a limit is good to a hundredth of a millimetre."""

EXACT_MM = 0.01
"""Below this rms nothing tells two arches apart but how much of them was left free."""


class ArchMatch(Struct, frozen=True, eq=False):
    """An arch laid on a measured table. Lengths are mm.

    It springs at the stations ``start`` and ``end``, on a line at the depth ``springing``; ``arch_to`` is "inside"
    where the crown is the deepest place and "edge" where it is the shallowest. ``deviations`` are the distances of the
    readings from it, square to the curve, positive outside the arch.
    """

    kind: ArchKind
    span: float
    rise: float
    radii: tuple[ArchRadius, ...]
    start: float
    end: float
    springing: float
    arch_to: Literal["edge", "inside"]
    largest_deviation: float
    rms: float
    deviations: tuple[float, ...]
    rule: str


def nearest_arches(stations: ArrayLike, depths: ArrayLike) -> tuple[ArchMatch, ...]:
    """Every usual arch laid on a table of stations and depths (mm), the nearest first.

    Nearest by Schwarz's criterion (Annals of Statistics 6, 1978): the least rms deviation, with a handicap for what
    was left free, so that an arc of a circle is not told as the ellipse that can always come a little nearer. The
    table should run from springing to springing. Raises TableError for fewer than five readings, and for a
    table that is straight.
    """
    x, y = checked_offsets(stations, depths, least=5)
    bulge = y - np.interp(x, x[[0, -1]], y[[0, -1]])
    if np.abs(bulge).max() <= LEAST_RISE * (x[-1] - x[0]):
        raise TableError("the table is straight: no arch comes near it", len(x) - 1)
    inward = bool(bulge.sum() > 0.0)
    matches = [_laid(kind, x, y, 1.0 if inward else -1.0) for kind in KINDS]
    return tuple(sorted(matches, key=_unlikeliness))


def _unlikeliness(match: ArchMatch) -> float:
    count = len(match.deviations)
    free = 2 if match.kind == "segmental" else 4
    return count * math.log(max(match.rms, EXACT_MM) ** 2) + free * math.log(count)


def _laid(kind: ArchKind, x: Points, y: Points, side: float) -> ArchMatch:
    """One kind laid on the readings; ``side`` is 1 where depth grows towards the crown."""
    from scipy.optimize import least_squares  # here, for start-up time

    # The fit is done with the arch upright, in units of the table's length: (left springing, right, line, rise/span).
    length = float(x[-1] - x[0])
    readings = np.stack([(x - x[0]) / length, side * (y - y[0]) / length], axis=1)
    residuals = _residuals(kind, readings)
    play = 0.0 if kind == "segmental" else SPRINGING_PLAY  # the springings of an arc say no more than its line does
    low, high = _rise_range(kind)
    height = float(np.ptp(readings[:, 1]))
    ends = float(np.mean(readings[[0, -1], 1]))
    begin = [0.0, 1.0, ends, float(np.clip(height, low * 1.01, low + 0.99 * (high - low)))]
    tiny = 1e-12
    lower = [-play - tiny, 1.0 - play - tiny, ends - height - 1.0, low]
    upper = [play + tiny, 1.0 + play + tiny, ends + height + 1.0, high]
    solved = least_squares(
        residuals,
        begin,
        bounds=(lower, upper),
        x_scale=[0.1, 0.1, height, height],
        ftol=SETTLED,
        xtol=SETTLED,
        gtol=SETTLED,
        max_nfev=MOST_ROUNDS,
    )
    best = _placed(kind, solved.x)
    off = length * residuals(solved.x)
    left, right, line, ratio = (float(value) for value in solved.x)
    scaled = arch(kind, (right - left) * length, ratio * (right - left) * length)
    return ArchMatch(
        kind=best[0].kind,
        span=scaled.span,
        rise=scaled.rise,
        radii=scaled.radii,
        start=float(x[0]) + left * length,
        end=float(x[0]) + right * length,
        springing=float(y[0]) + side * line * length,
        arch_to="inside" if side > 0 else "edge",
        largest_deviation=float(np.abs(off).max()),
        rms=float(np.sqrt(np.mean(off**2))),
        deviations=tuple(off.tolist()),
        rule=scaled.rule,
    )


def _rise_range(kind: ArchKind) -> tuple[float, float]:
    """Least and most rise over span that is tried."""
    least, most = rise_limits(kind, 1.0)
    return max(least, LEAST_RISE), min(most, TALLEST_RISE) * (1.0 - 1e-6)


def _placed(kind: ArchKind, parameters: Points) -> tuple[Arch, Curve]:
    left, right, line, ratio = parameters
    struck = arch(kind, right - left, ratio * (right - left))
    return struck, struck.curve.transformed(Affine.translation((left + right) / 2.0, line))


def _residuals(kind: ArchKind, readings: Points) -> Callable[[Points], Points]:
    def off(parameters: Points) -> Points:
        return signed_distances(_placed(kind, parameters)[1], readings)

    return off


def signed_distances(curve: Curve, points: Points) -> Points:
    """The distance of each point (n, 2) from the curve, positive on its left, in the curve's unit."""
    foot, distance = nearest_to_each(curve, points)
    gap, along = points - curve.point(foot), curve.derivative(foot)
    outside = along[:, 0] * gap[:, 1] - along[:, 1] * gap[:, 0] >= 0.0
    distances: Points = np.where(outside, distance, -distance)
    return distances
