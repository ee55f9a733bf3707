"""Outlines that nobody here drew, at two metres' size: wing sections and letters, fitted through some of their points
and held against the rest."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

import fontpkg_noto_sans
import numpy as np
import pytest
from fontTools.pens.areaPen import AreaPen
from fontTools.pens.basePen import decomposeQuadraticSegment
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont

from patterns.crossings import nearest_to_each
from patterns.curve import Curve
from patterns.fitting import closed_through, through_offsets, through_points, values_at
from patterns.measured import smoothest_within

SIZE_MM = 2000.0


def enclosed_area(curve: Curve) -> float:
    """By fontTools, an independent integral over the Béziers; an open curve is closed by its chord."""
    pen = AreaPen()
    pen.moveTo(tuple(curve.start))
    for bezier in curve.beziers:
        pen.curveTo(*(tuple(point) for point in bezier[1:]))
    pen.closePath()
    return abs(pen.value)


# -------------------------------------------------------------------- wing sections

# Source: coordinate tables of the UIUC Airfoil Data Site, as carried by the package aerosandbox (MIT licence); each is
# a table of measured or designed ordinates, from the trailing edge over the top and back along the underside.
# Chosen for tables fine enough (60 points and more, five decimals and more) that every second point can be withheld.
WING_SECTIONS = ["clarky", "rae2822", "ag35", "e423", "mh32", "dae11", "s1223", "ht12"]


def wing_section(name: str) -> np.ndarray:
    """The table's points in mm, its chord two metres. The package's data is read without importing the package."""
    found = find_spec("aerosandbox")
    assert found is not None, "the tables come with aerosandbox (pip install --no-deps aerosandbox)"
    assert found.submodule_search_locations is not None
    folder = Path(found.submodule_search_locations[0]) / "geometry" / "airfoil" / "airfoil_database"
    lines = (folder / f"{name}.dat").read_text(encoding="utf-8").splitlines()[1:]
    return SIZE_MM * np.array([line.split() for line in lines if line.strip()], dtype=float)


@pytest.mark.parametrize("name", WING_SECTIONS)
def test_withheld_points_of_a_wing_section_are_foretold(name):
    points = wing_section(name)
    points = points[: len(points) - 1 + len(points) % 2]  # an odd count, so that both ends are kept
    fitted = through_points(points[::2])
    _, off = nearest_to_each(fitted, points[1::2])
    assert off.max() < 0.5
    assert np.quantile(off, 0.75) < 0.15
    assert np.median(off) < 0.05


@pytest.mark.parametrize("name", WING_SECTIONS)
def test_the_area_of_a_wing_section_does_not_hang_on_which_points_are_used(name):
    points = wing_section(name)
    points = points[: len(points) - 1 + len(points) % 2]
    whole, half = enclosed_area(through_points(points)), enclosed_area(through_points(points[::2]))
    assert half == pytest.approx(whole, rel=1e-4)
    polygon = 0.5 * abs(
        float((points[:, 0] * np.roll(points[:, 1], -1) - points[:, 1] * np.roll(points[:, 0], -1)).sum())
    )
    assert whole == pytest.approx(polygon, rel=0.01)
    assert whole > polygon * (1 + 1e-6)  # chords of a mostly convex outline cut off a little


@pytest.mark.parametrize("name", WING_SECTIONS)
def test_the_back_of_a_wing_section_as_a_table_of_offsets(name):
    points = wing_section(name)
    nose = int(np.argmin(points[:, 0]))
    back = points[:nose][::-1]
    back = back[back[:, 0] > 0.1 * SIZE_MM]  # aft of the steep nose, which no table of offsets can say well
    assert len(back) > 12
    curve = through_offsets(back[::2, 0], back[::2, 1])
    inside = back[1::2][: len(back[::2]) - 1]
    miss = np.abs(values_at(curve, inside[:, 0]) - inside[:, 1])
    assert miss[1:-1].max() < 0.5
    assert np.median(miss) < 0.06


@pytest.mark.parametrize("name", WING_SECTIONS)
def test_a_wing_section_read_with_a_rule_is_faired_without_a_hollow_it_does_not_have(name):
    points = wing_section(name)
    nose = int(np.argmin(points[:, 0]))
    back = points[:nose][::-1]
    back = back[(back[:, 0] > 0.1 * SIZE_MM) & (back[:, 0] < 0.95 * SIZE_MM)]
    sixteenth = 25.4 / 16
    read = np.round(back[:, 1] / sixteenth) * sixteenth  # as read on a rule, to the nearest 1/16 in
    fitted = smoothest_within(back[:, 0], read, sixteenth / 2)
    assert fitted.largest_deviation <= sixteenth / 2
    assert fitted.suspects == ()
    assert np.abs(values_at(fitted.curve, back[:, 0]) - back[:, 1]).max() <= sixteenth
    assert second_changes(fitted.curve) <= second_changes(through_offsets(back[:, 0], back[:, 1])) + 2
    assert second_changes(through_offsets(back[:, 0], read)) > second_changes(fitted.curve)


def second_changes(curve: Curve) -> int:
    """How often it changes the side to which it curves."""
    h = curve.beziers[:, 3, 0] - curve.beziers[:, 0, 0]
    second = (np.diff(curve.beziers[:, :, 1], n=2, axis=1) / h[:, None] ** 2).ravel()
    signs = np.sign(second[np.abs(second) > 1e-6 * np.abs(second).max()])
    return int((np.diff(signs) != 0).sum())


# -------------------------------------------------------------------- letters

# Source: glyph outlines of Noto Sans (SIL Open Font Licence), as carried by the package fontpkg-noto-sans, read with
# fontTools. Contours without a corner, by glyph name and number of the contour.
ROUND_CONTOURS = [("O", 0), ("O", 1), ("o", 0), ("o", 1), ("zero", 0), ("zero", 1), ("Q", 1), ("six", 1), ("period", 0)]


@pytest.fixture(scope="module")
def glyphs():
    file = next((Path(fontpkg_noto_sans.__file__).parent / "files").glob("NotoSans[[]*.ttf"))
    return TTFont(file).getGlyphSet()


def quadratics(glyphs, name: str, contour: int) -> np.ndarray:
    """The contour's quadratic Béziers, shape (n, 3, 2), its longer side two metres."""
    pen = DecomposingRecordingPen(glyphs)
    glyphs[name].draw(pen)
    contours: list[list[tuple]] = []
    for step, points in pen.value:
        if step == "moveTo":
            contours.append([])
            at = points[0]
        elif step == "lineTo":
            contours[-1].append((at, ((at[0] + points[0][0]) / 2, (at[1] + points[0][1]) / 2), points[0]))
            at = points[0]
        elif step == "qCurveTo":
            for control, end in decomposeQuadraticSegment(points):
                contours[-1].append((at, control, end))
                at = end
    pieces = np.array(contours[contour], dtype=float)
    return pieces * SIZE_MM / np.ptp(pieces.reshape(-1, 2), axis=0).max()


def evenly_along(pieces: np.ndarray, count: int) -> np.ndarray:
    """``count`` points of the contour, evenly along it, to within its flattening into short chords."""
    t = np.linspace(0, 1, 201)[:-1, None, None]
    fine = (
        ((1 - t) ** 2 * pieces[:, 0] + 2 * t * (1 - t) * pieces[:, 1] + t * t * pieces[:, 2])
        .swapaxes(0, 1)
        .reshape(-1, 2)
    )
    steps = np.hypot(*(np.roll(fine, -1, axis=0) - fine).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    return fine[np.searchsorted(along, np.arange(count) / count * along[-1])]


def exact_area(pieces: np.ndarray) -> float:
    """Of a closed chain of quadratics: the polygon of its joints and two thirds of each triangle of controls."""

    def cross(a, b):
        return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]

    start, control, end = pieces.swapaxes(0, 1)
    return abs(float((cross(start, end) / 2 + cross(control - start, end - start) / 3).sum()))


@pytest.mark.parametrize(("name", "contour"), ROUND_CONTOURS)
def test_a_round_letter_is_met_between_the_points_that_were_used(glyphs, name, contour):
    pieces = quadratics(glyphs, name, contour)
    fitted = closed_through(evenly_along(pieces, 48))
    _, off = nearest_to_each(fitted, evenly_along(pieces, 961))
    assert off.max() < 0.5


@pytest.mark.parametrize(("name", "contour"), ROUND_CONTOURS)
def test_its_area_agrees(glyphs, name, contour):
    pieces = quadratics(glyphs, name, contour)
    assert enclosed_area(closed_through(evenly_along(pieces, 48))) == pytest.approx(exact_area(pieces), rel=2e-5)


@pytest.mark.parametrize(("name", "contour"), ROUND_CONTOURS)
def test_more_points_come_nearer(glyphs, name, contour):
    pieces = quadratics(glyphs, name, contour)
    fine = evenly_along(pieces, 480)
    off = [nearest_to_each(closed_through(evenly_along(pieces, count)), fine)[1].max() for count in (12, 24, 48)]
    assert off[0] > off[1] > off[2]
