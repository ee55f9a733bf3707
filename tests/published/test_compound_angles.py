"""Compound angles as published: an owner's manual's chart, the old quarter-degree chart, crown-moulding tables."""

from __future__ import annotations

import math

import pytest

from patterns.carcass.ring import Joint
from patterns.carcass.settings import _turn
from patterns.carcass.vessel import Vessel

MANUAL_DEG = 0.0101
"""The chart is printed to a hundredth of a degree."""

MANUAL = [
    (0, 45.00, 0.00, 36.00, 0.00, 30.00, 0.00, 22.50, 0.00),
    (5, 44.89, 3.53, 35.90, 2.94, 29.91, 2.50, 22.42, 1.91),
    (10, 44.56, 7.05, 35.58, 5.86, 29.62, 4.98, 22.19, 3.81),
    (15, 44.01, 10.55, 35.06, 8.75, 29.15, 7.44, 21.81, 5.68),
    (20, 43.22, 14.00, 34.32, 11.60, 28.48, 9.85, 21.27, 7.52),
    (25, 42.19, 17.39, 33.36, 14.38, 27.62, 12.20, 20.58, 9.31),
    (30, 40.89, 20.70, 32.18, 17.09, 26.57, 14.48, 19.73, 11.03),
    (35, 39.32, 23.93, 30.76, 19.70, 25.31, 16.67, 18.74, 12.68),
    (40, 37.45, 27.03, 29.10, 22.20, 23.86, 18.75, 17.60, 14.24),
    (45, 35.26, 30.00, 27.19, 24.56, 22.21, 20.70, 16.32, 15.70),
    (50, 32.73, 32.80, 25.03, 26.76, 20.36, 22.52, 14.91, 17.05),
]
"""Compound-angle setting chart in a bench-saw owner's manual (maker not named), 4 to 10 sides: pitch from the horizontal,
then mitre (from square) and bevel for 4, 5, 6 and 8 sides."""

QUARTERS = [
    (5, 0.5, 85, 44.75), (10, 1.5, 80.25, 44.25), (15, 3.75, 75.5, 43.25), (20, 6.25, 71.25, 41.75),
    (25, 10, 67, 40), (30, 14.5, 63.5, 37.75), (35, 19.5, 60.25, 35.25), (40, 24.5, 57.25, 32.5),
    (45, 30, 54.75, 30), (50, 36, 52.5, 27), (55, 42, 50.75, 24), (60, 48, 49, 21),
]  # fmt: skip
"""Compound-angle chart reprinted in mid-20th-century power-saw manuals and carpentry books, four sides (from memory): lean
from the vertical, butt blade, gauge reading (90 less the mitre), mitre blade; rounded to about a quarter of a degree."""

CROWN = [(38, 31.62, 33.86), (45, 35.26, 30.00), (52, 38.24, 25.81)]
"""Standard crown-moulding setting tables, corner of 90 degrees: spring from the wall, mitre, bevel, moulding laid flat."""


def stave(count: int, lean_deg: float, kind: str) -> tuple[float, float]:
    """Mitre from square and tilt (degrees) at the right end of a stave."""
    vessel = Vessel(count, 1000.0, 100.0, math.radians(lean_deg), 10.0, Joint(kind))  # type: ignore[arg-type]
    board = vessel.boards[0]
    return math.degrees(_turn(board, 0, 1)), math.degrees(board.tilt_of(1))


@pytest.mark.parametrize("row", MANUAL, ids=lambda row: f"pitch {row[0]}")
def test_the_manuals_chart(row: tuple[float, ...]) -> None:
    pitch, *figures = row
    if pitch == 0:
        return  # a flat frame has no walls; the next test comes near it
    for k, count in enumerate((4, 5, 6, 8)):
        mitre, tilt = stave(count, 90.0 - pitch, "mitre")
        assert mitre == pytest.approx(figures[2 * k], abs=MANUAL_DEG)
        assert -tilt == pytest.approx(figures[2 * k + 1], abs=MANUAL_DEG)


def test_nearly_flat_is_the_first_row() -> None:
    for k, count in enumerate((4, 5, 6, 8)):
        mitre, tilt = stave(count, 89.999, "mitre")
        assert mitre == pytest.approx(MANUAL[0][1 + 2 * k], abs=MANUAL_DEG) and -tilt == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize("row", QUARTERS, ids=lambda row: f"lean {row[0]}")
def test_the_old_chart_of_quarter_degrees(row: tuple[float, ...]) -> None:
    """Agreement as the reference has it: gauge within 0.13, mitred blade within 0.30, butt blade within 0.60 degrees."""
    lean, butt, gauge, mitred = row
    mitre, tilt = stave(4, lean, "mitre")
    assert 90.0 - mitre == pytest.approx(gauge, abs=0.135) and -tilt == pytest.approx(mitred, abs=0.30)
    assert stave(4, lean, "butt")[1] == pytest.approx(butt, abs=0.60)


@pytest.mark.parametrize(("spring", "mitre", "bevel"), CROWN)
def test_a_sprung_moulding_laid_flat_is_the_same_problem(spring: float, mitre: float, bevel: float) -> None:
    found, tilt = stave(4, spring, "mitre")
    assert found == pytest.approx(mitre, abs=0.005) and -tilt == pytest.approx(bevel, abs=0.005)
