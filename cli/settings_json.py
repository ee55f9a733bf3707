"""What ``settings`` gives a program: degrees and millimetres, nothing rounded."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from patterns.carcass.aids import BLOCK_LONG_MM, blocks_of
from patterns.carcass.settings import EdgeSetting, glue_lengths, settings_of
from patterns.carcass.steps import lowered_edges, steps

if TYPE_CHECKING:
    from cli.request import Job

Json = dict[str, Any]


def of_job(job: Job) -> Json:
    """Every edge of every part, and the joints of a carcass's panels."""
    return {
        "settings": [_setting(one) for part in job.parts for one in settings_of(part, job.shop.shop)],
        "joints": [
            row for part in job.parts if part.spec.panel is not None for row in _joints(part.name, part.spec.panel)
        ],
        "steps": [{"higher": one.higher, "lower": one.lower, "amount_mm": one.amount} for one in steps(job.parts)],
        "lowered_edges": [
            {"rounded": one.rounded, "beside": one.other, "amount_mm": one.amount} for one in lowered_edges(job.parts)
        ],
        "clamp_blocks": [
            {
                "part": one.part,
                "edge": one.edge,
                "angle_deg": abs(math.degrees(one.tilt)),
                "width_mm": one.width,
                "length_mm": BLOCK_LONG_MM,
                "count": one.count,
            }
            for part in job.parts
            for one in blocks_of(part)
        ],
        "glue_lines": [
            {
                "part": part.name,
                "key": run.key,
                "length_outside_mm": run.outside,
                "length_inside_mm": run.inside,
                "points_outside": list(run.points),
            }
            for part in job.parts
            for run in glue_lengths(part)
        ],
    }


def _degrees(radians: float | None) -> float | None:
    return None if radians is None else math.degrees(radians)


def _setting(one: EdgeSetting) -> Json:
    return {
        "part": one.part,
        "edge": one.edge,
        "edge_index": one.number,
        "reference_edge": one.reference,
        "blade_tilt_deg": _degrees(one.tilt),
        "mitre_gauge_deg": _degrees(one.gauge),
        "taper_deg": _degrees(one.taper),
        "dihedral_deg": _degrees(one.dihedral),
        "meets": one.meets or None,
        "cut": "on edge" if one.on_edge else "flat",
        "way": one.way,
        "long_face": one.long_face,
        "length_outside_mm": one.length_outside,
        "length_inside_mm": one.length_inside,
        "points_outside": list(one.points),
        "face_line_deg": _degrees(one.face_line),
        "edge_line_deg": _degrees(one.edge_line),
        "feather_mm": one.feather if one.on_edge else None,
        "gauge_error_opens_mm": one.gauge_opens,
        "tilt_error_opens_mm": one.tilt_opens,
        "curved": one.is_curved,
    }


def _joints(part: str, panel: Any) -> list[Json]:
    return [
        {
            "part": part,
            "edge": joint.edge,
            "joint": joint.kind,
            "meets": joint.other,
            "dihedral_deg": math.degrees(joint.dihedral),
            "joint_length_mm": joint.height,
            "rabbet_depth_mm": joint.rabbet or None,
            "rabbet_width_mm": joint.rabbet_width or None,
            "fingers": None
            if joint.comb is None
            else {
                "width_mm": joint.comb.width,
                "first_edge_mm": joint.comb.cheeks[0],
                "edges_mm": list(joint.comb.cheeks),
                "first_is_finger": joint.owns_first,
                "thinnest_mm": joint.comb.thinnest,
                "cut": joint.cut,
                "proud_mm": joint.proud,
                "play_mm": joint.play,
                "gap_mm": joint.gap,
            },
        }
        for joint in panel.joints
    ]
