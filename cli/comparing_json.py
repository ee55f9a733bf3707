"""What ``compare`` finds, as plain values for a program: millimetres and degrees, nothing rounded."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from cli import reprinting
from cli.comparing import Comparison, SizeChange
from cli.reportchanges import Change
from cli.request import Job
from patterns.compared import Compared, LineChange
from patterns.piece import Size
from patterns.stretch import Hole

Json = dict[str, Any]


def of_comparison(found: Comparison, written: Mapping[str, Sequence[Path]]) -> Json:
    """The whole comparison; ``written`` are the files of pictures by the pattern that they show."""
    sides = found.sides
    return {
        "old": _side(sides.old, sides.old_name),
        "new": _side(sides.new, sides.new_name),
        "same": found.is_same,
        "same_piece": found.is_same_piece,
        "angles": [_change(change) for change in found.angles],
        "sizes": [_size(change) for change in found.sizes],
        "added": list(found.added),
        "removed": list(found.removed),
        "renamed": [{"old": old, "new": new} for old, new in found.renamed],
        "parts": [_compared(one) for one in found.parts],
        "figures": [_change(change) for change in found.figures],
        "sheets": _sheets(found),
        "warnings": {
            "new": [{"place": problem.place, "what": problem.what} for problem in found.warnings_new],
            "gone": [{"place": problem.place, "what": problem.what} for problem in found.warnings_gone],
        },
        "pictures": [_picture(name, paths) for name, paths in written.items()],
    }


def _picture(pattern: str, paths: Sequence[Path]) -> Json:
    return {"pattern": pattern, **dict(zip(("file", "png"), map(str, paths), strict=False))}


def _side(job: Job, name: str) -> Json:
    piece = job.piece
    return {
        "file": name,
        "title": piece.title,
        "revision": piece.revision,
        "units": piece.units,
        "sizes_given": dict(job.given),
        "shop": job.shop.where,
    }


def _change(change: Change) -> Json:
    return {
        "report": change.report,
        "figure": change.address,
        "part": change.part,
        "unit": change.unit,
        "old": change.old,
        "new": change.new,
        "change": change.difference,
    }


def _size(change: SizeChange) -> Json:
    one = change.new or change.old
    kind = one.kind if one is not None else "length"
    unit = {"length": "_mm", "angle": "_deg", "number": ""}[kind]
    state = "added" if change.old is None else "removed" if change.new is None else ""
    old, new = _value(change.old), _value(change.new)
    return {
        "name": change.name,
        "kind": kind,
        "state": state or ("changed" if change.is_moved else "limits"),
        f"old{unit}": old,
        f"new{unit}": new,
        f"change{unit}": new - old if change.is_moved and old is not None and new is not None else None,
    }


def _value(size: Size | None) -> float | None:
    return None if size is None else math.degrees(size.value) if size.kind == "angle" else size.value


def _compared(one: Compared) -> Json:
    largest = one.largest
    return {
        "pattern": one.new.name,
        "part": one.new.part,
        "same": one.is_same,
        "same_blank": not one.is_from_another_blank,
        "largest_distance_mm": largest.distance if largest is not None else 0.0,
        "lines": [_line(change) for change in one.changes],
        "holes_added": [_hole(hole) for hole in one.holes_added],
        "holes_removed": [_hole(hole) for hole in one.holes_gone],
    }


def _line(change: LineChange) -> Json:
    return {
        "key": change.key,
        "name": change.name,
        "distance_mm": change.distance,
        "on": change.on,
        "at_mm": list(change.at),
        "nearest_mm": list(change.nearest),
        "all_along": change.even,
        "wood": "more" if change.more_wood else "less",
        "edge": change.edge,
        "station_mm": change.station,
        "depth_mm": change.depth,
        "centres_mm": [list(centre) for centre in change.centres] if change.centres is not None else None,
    }


def _hole(hole: Hole) -> Json:
    return {"key": hole.key, "name": hole.spec.name, "centre_mm": list(hole.centre)}


def _sheets(found: Comparison) -> Json:
    sheets = found.sheets
    return {
        "layout": "old PDF" if sheets.printed else "first printing of the old",
        "paper": sheets.paper,
        "reason": sheets.reason,
        "fates": reprinting.fates_json(sheets.fates),
    }
