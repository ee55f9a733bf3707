"""Biscuits along glue lines: where they are, clear of the ends, of holes and of whatever is cut there later."""

from __future__ import annotations

import math
from collections.abc import Sequence

from patterns.freespace import Point
from patterns.pattern import Role
from patterns.piece import PartSpec
from patterns.sketch import Sketch
from patterns.stretch import GlueRun

CLEAR_MM = 45.0
"""From the end of a run to the middle of a biscuit: half of a large one, which is 56 mm, and some wood. Common practice."""
TICK_MM = 9.0
"""Half of a mark, on either side of the line."""


def places(run: GlueRun, spec: PartSpec) -> list[Point]:
    """The middles of the biscuits of a run. It ends where a hole, a cut or the part itself does; where a wall of a carcass
    is fingered there, the fingers are kept clear as well."""
    if spec.biscuits is None:
        return []
    clear = CLEAR_MM
    if spec.panel is not None and spec.thickness is not None and any(joint.comb for joint in spec.panel.joints):
        clear += spec.thickness.value
    room = run.length - 2 * clear
    if room < 0.0:
        return []
    count = max(1, math.ceil(room / spec.biscuits.value)) if room > 0.0 else 0
    steps = [0.5] if count <= 1 and room < spec.biscuits.value / 2 else [k / count for k in range(count + 1)]
    (x0, y0), (x1, y1) = run.start, run.end
    found = []
    for step in steps:
        share = (clear + step * room) / run.length
        found.append((x0 + (x1 - x0) * share, y0 + (y1 - y0) * share))
    return found


def draw_biscuits(sketch: Sketch, runs: Sequence[GlueRun], spec: PartSpec) -> None:
    """A mark across the line at each."""
    for run in runs:
        upright = abs(run.end[0] - run.start[0]) < abs(run.end[1] - run.start[1])
        dx, dy = (TICK_MM, 0.0) if upright else (0.0, TICK_MM)
        for number, (x, y) in enumerate(places(run, spec)):
            key = f"biscuit.{run.key}[{number}]"
            sketch.line(Role.MARK, (x - dx, y - dy), (x + dx, y + dy), key)
