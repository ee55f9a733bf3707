"""Bevel cards read back from a printed PDF, clamp blocks, biscuits, round-overs that stop in time, tops that meet."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pagereader
import pytest

from cli import printing, request
from patterns import shopfile
from patterns.biscuits import CLEAR_MM, places
from patterns.carcass.aids import angles_in, blocks_of
from patterns.carcass.settings import settings_of
from patterns.carcass.steps import lowered_edges, steps
from patterns.filetext import NamedText
from patterns.pattern import Role
from tiling.job import make_sheets
from tiling.order import usual_form

DEMO = Path(__file__).resolve().parents[3] / "demo" / "wren-hooded.toml"
TEXT = DEMO.read_text(encoding="utf-8")


def job_of(text: str = TEXT) -> request.Job:
    return request.make(NamedText(text, "hooded.toml"), {}, shopfile.find(None))


def test_every_angle_of_the_settings_is_on_a_card_and_right_on_paper() -> None:
    """The leaning leg of each card, from the PDF's own operators, within 0.02 degrees."""
    from msgspec.structs import replace

    job = replace(job_of(), shop_aids=True)
    wanted = [
        angle.degrees for angle in angles_in([one for part in job.parts for one in settings_of(part, job.shop.shop)])
    ]
    for one in (one for part in job.parts for one in settings_of(part, job.shop.shop)):
        for value in (one.tilt, one.gauge or 0.0):
            degrees = abs(math.degrees(value))
            degrees = min(degrees, 90.0 - degrees)
            assert degrees < 0.3 or min(abs(degrees - known) for known in wanted) <= 0.02 + 1e-9
    made = make_sheets(printing.order_of(job, None, True), usual_form(job.piece.units))
    pages = pagereader.pages(made.data)
    found: dict[str, float] = {}
    for sheet in made.to_json()["sheets"]:
        for entry in sheet["parts"]:
            if not entry["part"].startswith("bevel card"):
                continue
            for path in (p for p in pages[sheet["page"] - 1] if pagereader.is_cut(p)):
                ends = pagereader.mapped(entry["to_part"], path.beziers[:, [0, 3]])
                x0, y0, x1, y1 = entry["window_mm"]
                for start, end in ends:
                    inside = x0 - 1 <= start[0] <= x1 + 1 and y0 - 1 <= start[1] <= y1 + 1
                    run, rise = np.abs(end - start)
                    if inside and rise > 170.0 and run > 0.5:
                        found[entry["part"]] = math.degrees(math.atan2(run, rise))
    assert len(found) == len(wanted)
    assert sorted(found.values()) == pytest.approx(wanted, abs=0.02)


def test_clamp_blocks_are_those_of_the_bevelled_edges() -> None:
    side = next(part for part in job_of().parts if part.name == "side")
    blocks = {one.edge: one for one in blocks_of(side)}
    assert set(blocks) == {"bottom", "top", "roof"}
    assert math.degrees(abs(blocks["bottom"].tilt)) == pytest.approx(8.0)
    assert blocks["bottom"].width == pytest.approx(5 / 8 * 25.4) and blocks["bottom"].count % 2 == 0
    assert not blocks_of(next(part for part in job_of().parts if part.name == "head board")), "it is one board"


def test_biscuits_are_on_the_line_and_clear_of_its_ends() -> None:
    side = next(part for part in job_of().parts if part.name == "side")
    (run,) = side.glue
    found = places(run, side.spec)
    assert len(found) >= 2
    clear = CLEAR_MM + 5 / 8 * 25.4
    for x, y in found:
        assert y == pytest.approx(run.start[1]) and run.start[0] + clear - 1e-9 <= x <= run.end[0] - clear + 1e-9
    marks = [
        s
        for pattern in job_of().patterns
        if pattern.part == "side"
        for s in pattern.strokes
        if s.key.startswith("biscuit")
    ]
    assert len(marks) == 2 * len(found), "on both boards"
    assert {stroke.role for stroke in marks} == {Role.MARK}


def test_a_round_over_stops_before_fingers_and_roof() -> None:
    side = next(part for part in job_of().parts if part.name == "side").spec
    rounded = {edge.name: edge.allowance.round_over for edge in side.edges}
    top, front = rounded["top"], rounded["front"]
    assert top is not None and top.start is not None and top.end is None
    assert top.start.value >= (5 / 8 + 1 / 32 + 3 / 16) * 25.4, (
        "past the foot board's thickness, its proud ends and the bit"
    )
    assert front is not None and front.end is not None and front.start is None
    edge = next(part for part in job_of().parts if part.name == "side").blank.edge("front")
    assert edge is not None and edge.length - front.end.value >= 3 / 16 * 25.4


def test_tops_that_are_not_flush_are_told() -> None:
    assert steps(job_of().parts) == (), "head, sides and foot board meet"
    higher = job_of(TEXT.replace("rail + arch_rise * cos(end_splay)", "rail + arch_rise * cos(end_splay) + 1/4"))
    (step,) = steps(higher.parts)
    assert (step.higher, step.lower) == ("foot board", "side")
    lean = math.hypot(1.0, math.tan(math.radians(8)), math.tan(math.radians(5)))
    assert step.amount == pytest.approx(25.4 / 4 * lean, rel=1e-3), "along the corner line"
    assert lowered_edges(job_of().parts) == ()
    uneven = job_of(
        TEXT.replace(
            'edges.top = { round_over = { radius = "3/16" } }', 'edges.top = { round_over = { radius = "1/4" } }'
        )
    )
    (lowered,) = lowered_edges(uneven.parts)
    assert (lowered.rounded, lowered.other) == ("side", "foot board") and lowered.amount == pytest.approx(25.4 / 16)
