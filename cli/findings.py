"""What ``check`` finds, as plain values for a program: millimetres and degrees, nothing rounded."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from cli import details, handedness
from patterns.curvature import least_radius
from patterns.part import Board, Part
from patterns.piece import Size
from patterns.stretch import Stretch

if TYPE_CHECKING:
    from cli.request import Job
    from patterns.measured import Fitted
    from patterns.nearest_arches import ArchMatch
    from patterns.values import PlacedReading

Json = dict[str, Any]


def of_job(job: Job, arches: bool = True) -> Json:
    """The whole report; without ``arches`` nothing is said of the arches that measured tables come near to (slow)."""
    piece = job.piece
    return {
        "file": job.source.name,
        "title": piece.title,
        "revision": piece.revision,
        "units": piece.units,
        "sizes": [_size(size) for size in piece.sizes],
        "readings": [
            {"place": placed.place, "written": placed.reading.written, "reading": placed.reading.echo}
            for placed in told(job)
        ],
        "parts": [
            of_part(part, arches) | details.of_part(part, job.shop) | {"hands": handedness.as_json(part, job)}
            for part in job.parts
        ],
        **_measured(job),
        "shop": job.shop.where,
        "warnings": [{"place": problem.place, "what": problem.what} for problem in job.warnings],
    }


def _measured(job: Job) -> Json:
    """How the measurements of a carcass fit; nothing where it has none."""
    carcass = job.piece.carcass
    if carcass is None or not carcass.residuals:
        return {}
    return {
        "measurements": [
            {
                "name": one.of,
                "written": one.written,
                "solved_mm": one.solved,
                "residual_mm": one.residual,
                "left_out": one.left_out,
            }
            for one in carcass.residuals
        ]
    }


def told(job: Job) -> list[PlacedReading]:
    """The readings that leave something to read; a size that is merely named by itself does not."""
    names = {size.name for size in job.piece.sizes}
    return [p for p in job.readings if p.reading.worth_saying and p.reading.written.strip() not in names]


def _size(size: Size) -> Json:
    unit = {"length": "_mm", "angle": "_deg", "number": ""}[size.kind]

    def shown(value: float | None) -> float | None:
        return math.degrees(value) if value is not None and size.kind == "angle" else value

    return {
        "name": size.name,
        "kind": size.kind,
        f"value{unit}": shown(size.value),
        f"least{unit}": shown(size.least),
        f"most{unit}": shown(size.most),
        "written": size.written,
        "note": size.note,
        "given_on_command_line": size.overridden,
    }


def of_part(part: Part, arches: bool = True) -> Json:
    """One part: its overall dimensions, its area, its boards and its curves."""
    x0, y0, x1, y1 = part.outline.bounds
    spec = part.spec
    return {
        "part": part.name,
        "quantity": spec.quantity,
        "wood": spec.wood,
        "overall_mm": [x1 - x0, y1 - y0],
        "thickness_mm": spec.thickness.value if spec.thickness is not None else None,
        "blank_mm": _size_of(part.blank.outline.bounds),
        "area_mm2": part.outline.area,
        "boards": [_board(board) for board in part.boards],
        "curves": [of_stretch(stretch, arches) for stretch in curved(part)],
    }


def curved(part: Part) -> list[Stretch]:
    """The stretches that bend, in order round the part."""
    return [stretch for stretch in part.stretches if least_radius(stretch.curve) is not None]


def _size_of(bounds: tuple[float, float, float, float]) -> list[float]:
    return [bounds[2] - bounds[0], bounds[3] - bounds[1]]


def _board(board: Board) -> Json:
    return {
        "board": board.number,
        "overall_mm": _size_of(board.outline.bounds),
        "area_mm2": board.outline.area,
        "glue_lines_mm": [run.length for run in board.glue],
    }


def is_sweep(stretch: Stretch) -> bool:
    """Whether it replaces a stretch of an edge: only then it has a span and a rise."""
    return stretch.kind in ("arch", "spline")


def of_stretch(stretch: Stretch, arches: bool = True) -> Json:
    """One curve. ``turning`` of its tightest place is "round" where the wood bulges, "hollow" where it is cut in."""
    tightest = least_radius(stretch.curve)
    found: Json = {
        "key": stretch.key,
        "edge": stretch.edge,
        "kind": stretch.kind,
        "length_mm": stretch.curve.length,
        "span_mm": stretch.span if is_sweep(stretch) else None,
        "rise_mm": stretch.rise if is_sweep(stretch) else None,
        "least_radius": None,
    }
    if tightest is not None:
        found["least_radius"] = {
            "radius_mm": tightest.radius,
            "at_mm": [float(v) for v in tightest.at],
            "turning": "round" if tightest.turning == "left" else "hollow",
        }
    if stretch.arch is not None:
        found["arch"] = {
            "kind": stretch.arch.kind,
            "rule": stretch.arch.rule,
            "radii_mm": {radius.name: radius.radius for radius in stretch.arch.radii},
        }
    if stretch.fitted is not None:
        found["measured"] = of_fit(stretch.fitted, arches)
    return found


def of_fit(fitted: Fitted, arches: bool = True) -> Json:
    """How a measured table was faired: what it misses, what looks misread, and the arches it comes near to."""
    return {
        "within_mm": fitted.within,
        "largest_deviation_mm": fitted.largest_deviation,
        "readings": [
            {"station_mm": station, "reading_mm": reading, "deviation_mm": deviation, "left_out": k in fitted.left_out}
            for k, (station, reading, deviation) in enumerate(
                zip(fitted.stations, fitted.readings, fitted.deviations, strict=True)
            )
        ],
        "looks_misread": [
            {"station_mm": suspect.station, "reading_mm": suspect.value, "expected_mm": suspect.expected}
            for suspect in fitted.suspects
        ],
        "nearest_arches": [
            {
                "kind": match.kind,
                "span_mm": match.span,
                "rise_mm": match.rise,
                "arch_to": match.arch_to,
                "largest_deviation_mm": match.largest_deviation,
                "rms_mm": match.rms,
            }
            for match in (arches_near(fitted) if arches else ())
        ],
    }


NEAR = 3.0
"""An arch is near that is off by no more than this many times what the nearest is, or by no more than ``within``."""

FAR = 1 / 20
"""An arch that is off by more than this part of the table's length is near in no case."""


def near_enough(fitted: Fitted, matches: Sequence[ArchMatch]) -> list[ArchMatch]:
    """Those of the arches that the table may have been meant for."""
    best = min((match.largest_deviation for match in matches), default=0.0)
    limit = min(max(NEAR * best, fitted.within), FAR * (fitted.stations[-1] - fitted.stations[0]))
    return [match for match in matches if match.largest_deviation <= limit]


def arches_near(fitted: Fitted) -> tuple[ArchMatch, ...]:
    """The usual arches laid on the readings that were fitted, nearest first; none for a table too short or straight."""
    from patterns.fitting import TableError
    from patterns.nearest_arches import nearest_arches  # late: only a measured curve needs it

    kept = [k for k in range(len(fitted.stations)) if k not in fitted.left_out]
    try:
        return nearest_arches([fitted.stations[k] for k in kept], [fitted.readings[k] for k in kept])
    except TableError:
        return ()
