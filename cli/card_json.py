"""The cutting card for a program: every cut with how the board lies, degrees and millimetres, nothing rounded."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from patterns.carcass.cutting import Cut, SetUp, set_ups

if TYPE_CHECKING:
    from cli.request import Job

Json = dict[str, Any]


def of_job(job: Job) -> Json:
    """All set-ups in their order."""
    saw = job.shop.shop.table_saw
    return {"saw_tilts": saw.tilts, "set_ups": [_set_up(one) for one in set_ups(job.parts, job.shop.shop)]}


def _set_up(one: SetUp) -> Json:
    return {
        "way": one.way,
        "blade_tilt_deg": math.degrees(one.tilt),
        "gauge_deg": math.degrees(one.gauge),
        "cuts": [of_cut(cut) for cut in one.cuts],
    }


def of_cut(cut: Cut) -> Json:
    """One cut."""
    return {
        "board": cut.board,
        "quantity": cut.quantity,
        "edge": cut.edge,
        "way": cut.way,
        "pose": "on edge" if cut.way == "on edge" else "flat",
        "blade_tilt_deg": math.degrees(cut.tilt),
        "swing_deg": math.degrees(cut.swing),
        "gauge_turned_round": cut.is_far,
        "face_up": cut.face_up,
        "keep": cut.keep,
        "against": cut.against,
        "mark_mm": cut.mark,
    }
