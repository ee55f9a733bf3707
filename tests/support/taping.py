"""Pages laid together by their registration marks alone, as they are found in pictures of the pages.

A place in a picture is (x to the right, y up) in pixels from its lower-left corner.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage, signal

Reals = NDArray[np.float64]

RADIUS_MM, ARM_MM = 2.87, 4.0
COARSE = 4
"""Pictures are looked over first in blocks of this many pixels."""
STRONGEST = 60
MOST_TURN = math.radians(8)


@dataclass(frozen=True)
class Motion:
    """Turned by ``angle`` about the origin, then shifted."""

    angle: float
    shift: tuple[float, float]

    def __call__(self, points: Reals) -> Reals:
        cos, sin = math.cos(self.angle), math.sin(self.angle)
        return points @ np.array([[cos, sin], [-sin, cos]]) + self.shift

    def back(self, points: Reals) -> Reals:
        """The other way."""
        cos, sin = math.cos(self.angle), math.sin(self.angle)
        return (points - self.shift) @ np.array([[cos, -sin], [sin, cos]])


def fitted(source: Reals, target: Reals) -> Motion:
    """The rigid motion that takes the points of ``source`` nearest to those of ``target``, by least squares."""
    a, b = source - source.mean(axis=0), target - target.mean(axis=0)
    angle = math.atan2(float((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum()), float((a * b).sum()))
    turn = Motion(angle, (0.0, 0.0))
    shift = target.mean(axis=0) - turn(source.mean(axis=0)[None])[0]
    return Motion(angle, (float(shift[0]), float(shift[1])))


# ---------------------------------------------------------------- marks in a picture


def find_marks(ink: NDArray[np.float32], expected: Reals, dpi: float) -> Reals:
    """The centres (n, 2) of the marks in a picture of ink (1 is black), in the order of ``expected``: their places on a
    page that lies straight and unshifted. NaN for a mark that can't be made out."""
    rough = _rough_motion(_candidates(ink, dpi) * COARSE, expected, dpi)
    pixel = dpi / 25.4
    return np.array([_refined(ink, place, rough.angle, pixel) for place in rough(expected)])


def _candidates(ink: NDArray[np.float32], dpi: float) -> Reals:
    """Where the picture looks most like a mark, by correlation, in coarse pixels."""
    height, width = (n // COARSE * COARSE for n in ink.shape)
    blocks = ink[ink.shape[0] - height :, :width].reshape(height // COARSE, COARSE, width // COARSE, COARSE)
    coarse = blocks.mean(axis=1).mean(axis=2)
    template = _template(dpi / 25.4 / COARSE)
    template -= template.mean()
    likeness = signal.fftconvolve(coarse, template[::-1, ::-1], mode="same")
    size = template.shape[0]
    mean = ndimage.uniform_filter(coarse, size)
    spread = np.sqrt(np.maximum(ndimage.uniform_filter(coarse**2, size) - mean**2, 1e-3))
    likeness /= spread
    peaks = (ndimage.maximum_filter(likeness, 9) == likeness) & (likeness > 0)
    rows, columns = np.nonzero(peaks)
    best = np.argsort(likeness[rows, columns])[::-1][:STRONGEST]
    return np.stack([columns[best] + 0.5, coarse.shape[0] - rows[best] - 0.5], axis=1)


def _template(pixel: float) -> Reals:
    """A mark as coarse pixels show it: the mean of finer ones."""
    fine, reach = 8, math.ceil(ARM_MM * pixel) + 1
    at = (np.arange((2 * reach + 1) * fine) + 0.5) / fine - reach - 0.5
    x, y = np.meshgrid(at, at)
    half = max(0.075 * pixel, 0.5 / fine)
    arms = (np.minimum(abs(x), abs(y)) < half) & (np.maximum(abs(x), abs(y)) < ARM_MM * pixel)
    ring = abs(np.hypot(x, y) - RADIUS_MM * pixel) < half
    count = 2 * reach + 1
    return (arms | ring).astype(float).reshape(count, fine, count, fine).mean(axis=(1, 3))


def _rough_motion(found: Reals, expected: Reals, dpi: float) -> Motion:
    """The motion under which most of the expected places have a candidate near them."""
    near = 0.9 * dpi / 25.4
    best: tuple[int, Motion] = (0, Motion(0.0, (0.0, 0.0)))
    apart = found[None] - found[:, None]
    length = np.hypot(apart[..., 0], apart[..., 1])
    heading = np.arctan2(apart[..., 1], apart[..., 0])
    for i in range(len(expected)):
        for j in range(len(expected)):
            chord = expected[j] - expected[i]
            size = math.hypot(*chord)
            if i == j or size < 60 * dpi / 25.4:
                continue
            turn = (heading - math.atan2(chord[1], chord[0]) + math.pi) % (2 * math.pi) - math.pi
            for a, b in np.argwhere((abs(length - size) < 2 * near) & (abs(turn) < MOST_TURN)):
                motion = fitted(expected[[i, j]], found[[a, b]])
                gaps = np.hypot(*np.moveaxis(motion(expected)[:, None] - found[None], -1, 0)).min(axis=1)
                if (count := int((gaps < near).sum())) > best[0]:
                    best = (count, motion)
            if best[0] == len(expected):
                return _rerun(best[1], found, expected, near)
    if best[0] < 4:
        raise ValueError(f"only {best[0]} of {len(expected)} marks were made out on a page")
    return _rerun(best[1], found, expected, near)


def _rerun(motion: Motion, found: Reals, expected: Reals, near: float) -> Motion:
    """The motion fitted again to all places that have a candidate near them."""
    gaps = np.hypot(*np.moveaxis(motion(expected)[:, None] - found[None], -1, 0))
    pairs = gaps.argmin(axis=1)
    good = gaps.min(axis=1) < near
    return fitted(expected[good], found[pairs[good]])


def _refined(ink: NDArray[np.float32], place: Reals, angle: float, pixel: float) -> Reals:
    """The centre of the mark near ``place``: profiles across its arms and its ring, fitted so that a line which happens
    to cross the mark counts for nothing (a plain centroid is pixels off then)."""
    bases, normals, lever = _profile_places(angle, pixel)
    centre = place.copy()
    for reach_mm in (0.9, 0.5, 0.5):
        offsets = np.arange(-reach_mm * pixel, reach_mm * pixel + 0.1, 0.5)
        where = centre + bases[:, None] + offsets[None, :, None] * normals[:, None]
        profile = sampled(ink, where)
        total = profile.sum(axis=1)
        usual = float(np.median(total))
        good = (total > 0.5 * usual) & (total < 1.6 * usual)
        if usual <= 0 or good.sum() < 40:
            return np.full(2, np.nan)
        off = (profile * offsets).sum(axis=1) / np.maximum(total, 1e-6)
        solution = _robust(np.column_stack([normals, lever])[good], off[good])
        centre = centre + solution[:2]
    return centre


def _profile_places(angle: float, pixel: float) -> tuple[Reals, Reals, Reals]:
    """Where profiles are taken, from the centre: points on the mark, normals there, and how a turn (of the arms) and a
    wrong radius (of the ring) show in each."""
    bases, normals, lever = [], [], []
    stations = np.concatenate([np.arange(0.7, 2.3, 0.08), np.arange(3.4, 3.8, 0.08)]) * pixel
    for quarter in range(4):
        u = np.array([math.cos(angle + quarter * math.pi / 2), math.sin(angle + quarter * math.pi / 2)])
        normal = np.array([-u[1], u[0]])
        for r in stations:
            bases.append(u * r)
            normals.append(normal)
            lever.append((r / pixel, 0.0))
        for degrees in range(14, 78, 4):
            a = angle + quarter * math.pi / 2 + math.radians(degrees)
            e = np.array([math.cos(a), math.sin(a)])
            bases.append(e * RADIUS_MM * pixel)
            normals.append(e)
            lever.append((0.0, 1.0))
    return np.array(bases), np.array(normals), np.array(lever)


def _robust(rows: Reals, values: Reals) -> Reals:
    """Least squares with outliers weighed down (Tukey's biweight)."""
    weight = np.ones(len(values))
    solution = np.zeros(rows.shape[1])
    for _ in range(12):
        solution = np.linalg.lstsq(rows * weight[:, None], values * weight, rcond=None)[0]
        rest = np.abs(values - rows @ solution)
        scale = max(4.7 * 1.4826 * float(np.median(rest)), 0.3)
        weight = np.maximum(1 - (rest / scale) ** 2, 0.0)
    return solution


def sampled(ink: NDArray[np.float32], points: Reals) -> Reals:
    """The ink at points (..., 2), interpolated between pixel centres."""
    rows = ink.shape[0] - points[..., 1] - 0.5
    return ndimage.map_coordinates(ink, [rows, points[..., 0] - 0.5], order=1, mode="constant")


# ---------------------------------------------------------------- all pages together


def adjusted(found: Sequence[Mapping[Hashable, Reals]]) -> tuple[list[Motion], float]:
    """Where each page lies (picture to a common plane) so that marks of one key meet, and the root mean square of what
    is left. All pages at once by least squares, never one after the other."""
    sightings: dict[Hashable, list[tuple[int, Reals]]] = {}
    for page, marks in enumerate(found):
        for key, place in marks.items():
            if np.isfinite(place).all():
                sightings.setdefault(key, []).append((page, place))
    pairs = [(a, b) for seen in sightings.values() for a, b in pairwise(seen)]
    angles, shifts = np.zeros(len(found)), np.zeros((len(found), 2))
    rest = np.zeros(0)
    for turn in range(8):
        lever = 1e-3 if turn else 0.0  # shifts alone at first, so that the turns begin near their places
        rows, values = np.zeros((2 * len(pairs), 3 * len(found))), np.zeros(2 * len(pairs))
        for k, (one, other) in enumerate(pairs):
            for sign, (page, place) in ((1.0, one), (-1.0, other)):
                x, y = Motion(float(angles[page]), (0.0, 0.0))(place[None])[0]
                rows[2 * k, 3 * page : 3 * page + 3] = sign * np.array([-y * lever, 1, 0])
                rows[2 * k + 1, 3 * page : 3 * page + 3] = sign * np.array([x * lever, 0, 1])
                values[2 * k : 2 * k + 2] -= sign * (np.array([x, y]) + shifts[page])
        step = np.zeros(3 * len(found))
        step[3:] = np.linalg.lstsq(rows[:, 3:], values, rcond=None)[0]  # the first page stays where it is
        rest = rows @ step - values
        angles += step[0::3] * lever
        shifts += step.reshape(-1, 3)[:, 1:]
    motions = [Motion(float(a), (float(x), float(y))) for a, (x, y) in zip(angles, shifts, strict=True)]
    return motions, float(np.sqrt((rest**2).mean()))
