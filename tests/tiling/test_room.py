"""Room for words: the quick look at many places agrees with the one that counts every point."""

from __future__ import annotations

import handmade
import numpy as np
import pytest

from tiling.deal import first_plan, placed
from tiling.form import SheetForm
from tiling.paper import paper
from tiling.room import GRID, _counted
from tiling.units import to_units


@pytest.mark.parametrize("size_mm", [(8.0, 3.0), (60.0, 25.0), (0.5, 90.0)])
def test_places_are_free_to_the_quick_look_where_nothing_is_counted_in_them(size_mm: tuple[float, float]) -> None:
    pattern = handmade.arched_panel(400, 500, 70).pattern
    room = placed(first_plan(pattern, SheetForm(paper("A4")))).room
    random = np.random.default_rng(3)
    width, height = (to_units(side) for side in size_mm)
    free = 0
    for cell in [(0, 0), (1, 0), (0, 1)]:
        x0, y0, x1, y1 = room.lattice.core(cell)
        centres = np.rint(random.uniform((x0 - 900, y0 - 900), (x1 + 900, y1 + 900), (400, 2)))
        found = room.is_free(cell, centres, width, height)
        counted = [room.crowd(cell, *centre, width, height) == 0.0 for centre in centres]
        np.testing.assert_array_equal(found, counted)
        np.testing.assert_array_equal(found, [room.is_free_at(cell, *centre, width, height) for centre in centres])
        free += int(found.sum())
    assert 0 < free < 1200


def test_a_point_on_the_very_edge_of_a_core_is_counted_in_it() -> None:
    """By a rounding it may lie a hair outside: it is ink all the same, and nothing goes wrong."""
    core = (110592, 2051, 110592 + 50 * GRID, 2051 + 40 * GRID)
    edge = np.array(
        [(core[0] - 1e-9, core[1] - 1e-9), (core[2] + 1e-9, core[3] + 1e-9), (core[0] + 5.0, core[1] + 5.0)]
    )
    counts = _counted(edge, core)
    assert counts[1, 1] == 2 and counts[-1, -1] == 3
