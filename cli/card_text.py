"""The cutting card, as it hangs at the saw: set-up after set-up, each cut with how its board lies."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from cli import report
from cli.settings_text import CAUTIONS, ON_EDGE
from patterns.carcass.cutting import Cut, SetUp, by_hand, moved_between, set_ups
from patterns.display import ROUNDED
from patterns.wording import key_in_words

if TYPE_CHECKING:
    from cli.request import Job

HOW = (
    "Each set-up is made once. Lay the board with the face named upwards and its edge to the gauge or the fence; keep what "
    "lies on the side of the blade that is named. A mark is on the outside face, along the edge that is at the gauge, from "
    "its left end as drawn (of the top edge from its right end); at the fence it is the width from edge to edge. Cut on the "
    "waste side, creep up to the line, and let the offcut lie until the blade stands still."
)
SWING = "Swings are seen from above: clockwise brings the left end of the gauge's fence forward."


def lines(job: Job) -> list[str]:
    """The whole card."""
    told = list(_card(job))
    if any(ROUNDED in line for line in told):
        told += ["", f"{ROUNDED} stands before a figure that was rounded by more than a quarter of its last division."]
    return told


def _card(job: Job) -> Iterator[str]:
    saw = job.shop.shop.table_saw
    yield f"{job.piece.title}: cutting card, for a saw whose blade leans to the {saw.tilts}"
    yield from report.paragraph(HOW)
    yield from report.paragraph(SWING)
    found = set_ups(job.parts, job.shop.shop)
    for number, one in enumerate(found, 1):
        yield ""
        yield from _set_up(number, one, job)
    curved = [part.name for part in job.parts if any(s.kind not in ("straight", "step") for s in part.stretches)]
    if curved:
        yield ""
        yield from report.paragraph(f"Then at the band-saw, to the line of the pattern: {', '.join(curved)}.")
    rest = by_hand(job.parts, job.shop.shop)
    if rest:
        told = ", ".join(f"{part} {_named(edge)} ({_degrees(tilt)})" for part, edge, tilt in rest)
        yield from report.paragraph(
            f"By hand, to the line, since no saw table reaches them or they run on beside a glue edge: {told}."
        )
    yield ""
    if any(one.way == "on edge" for one in found):
        yield from report.paragraph(ON_EDGE)
    for caution in CAUTIONS:
        yield from report.paragraph(caution)


def _set_up(number: int, one: SetUp, job: Job) -> Iterator[str]:
    tilt = f"blade {_degrees(one.tilt)} off square" if _rounded(one.tilt) else "blade square"
    where = {
        "fence": "along the fence",
        "taper": "on a taper sled, or with a straight edge and the portable saw",
        "gauge": "at the mitre gauge",
        "on edge": "on edge, at a tall fence",
    }[one.way]
    yield from report.paragraph(f"{number}. {where[0].upper()}{where[1:]}: {tilt}{_gauge(one, job)}")
    rows = [_row(cut, before, job) for cut, before in zip(one.cuts, (None, *one.cuts), strict=False)]
    against = "at the fence" if one.way in ("fence", "on edge") else "at the gauge"
    head = ("board", "edge", "face up" if one.way != "on edge" else "face at it", against, "keep", "mark", "how")
    yield from report.table(head, rows, right="lllllr")


def _gauge(one: SetUp, job: Job) -> str:
    if one.way == "taper":
        return f", a taper of {_degrees(math.pi / 2 - one.gauge)}"
    if one.way != "gauge":
        return ""
    off = _rounded(one.gauge)
    reading = f" ({round(90.0 - off, 1):g}° on this gauge)" if job.shop.shop.table_saw.gauge_at_square == 90 else ""
    return f", gauge {off:g}° off square{reading}" if off else f", gauge square{reading}"


def _row(cut: Cut, before: Cut | None, job: Job) -> Sequence[str]:
    same = before is not None and before.board == cut.board
    board = "" if same else f"{cut.board} ×{cut.quantity}" if cut.quantity > 1 else cut.board
    mark = job.display.length(cut.mark) if cut.mark > 1e-9 and cut.way != "taper" else ""
    return (
        board,
        _named(cut.edge),
        cut.face_up,
        _named(cut.against),
        cut.keep,
        mark,
        _how(cut, before if same else None),
    )


def _named(edge: str) -> str:
    return key_in_words(edge).replace("_", " ")


def _how(cut: Cut, before: Cut | None) -> str:
    if before is not None:
        return moved_between(before, cut).replace("_", " ")
    words = []
    if cut.way == "gauge":
        words.append(f"{cut.keep} groove")
        if cut.is_far:
            words.append("gauge turned round, ahead of the board")
    if _rounded(cut.swing) and cut.way == "gauge":
        words.append(f"swung {'counter-clockwise' if cut.swing > 0.0 else 'clockwise'}")
    if cut.way == "taper":
        words.append("to the line of the pattern")
    return ", ".join(words)


def _rounded(radians: float) -> float:
    return round(abs(math.degrees(radians)), 1)


def _degrees(radians: float) -> str:
    return f"{_rounded(radians):g}°"
