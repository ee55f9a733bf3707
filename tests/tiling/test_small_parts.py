"""Parts that are smaller than their title block: what is inside the outline still says which part it is."""

from __future__ import annotations

import handmade
import numpy as np
import pymupdf
import pytest

from patterns.curve import Curve
from patterns.pattern import Pattern
from tiling import job
from tiling.order import usual_form


def board(length: float, width: float) -> Pattern:
    corners = [(0, 0), (length, 0), (length, width), (0, width)]
    return handmade.outlined(Curve.polyline(corners, closed=True), "peg")


@pytest.mark.parametrize(("length", "width"), [(60, 14), (40, 40), (900, 12), (25, 120)])
def test_the_name_survives_the_scissors(length: float, width: float) -> None:
    pattern = board(length, width)
    made = job.make_sheets(handmade.order_of(pattern), usual_form("mm"))
    placing, layout = made.dealt[0].placing, made.dealt[0].layout
    title = [label for labels in placing.by_cell.values() for label in labels if label.key.startswith("title")]
    assert pattern.name in " ".join(label.text for label in title)
    back = layout.to_drawing.inverse()
    for label in title:
        assert pattern.outline.contains(np.array([back.point(*label.centre)])).all()
    told = " ".join(made.warnings)
    kept = " ".join(label.text for label in title)
    if made.dealt[0].layout.lattice.form.overlap == 0:  # in a slot: the caption and the band hold what the wood can't
        with pymupdf.open(stream=made.data) as document:
            kept += " " + document[made.sheets[0].page - 1].get_text()
    for line in pattern.title_block:
        is_date = line == pattern.title_block[-1]
        assert all(word in kept for word in line.split() if word != "·") or line in told or is_date


def test_a_large_part_has_the_whole_block() -> None:
    pattern = board(400, 300)
    made = job.make_sheets(handmade.order_of(pattern), usual_form("mm"))
    placed = {label.text for labels in made.dealt[0].placing.by_cell.values() for label in labels}
    assert set(pattern.title_block) <= placed and not made.warnings
