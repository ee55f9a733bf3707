"""What ``settings`` says, as a person at the saw reads it: one part after the other, angles to a tenth of a degree."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from cli import report
from patterns.carcass.aids import BLOCK_LONG_MM, blocks_of
from patterns.carcass.panel import EndJoint, Panel
from patterns.carcass.settings import EdgeSetting, glue_lengths, most_needed, settings_of, wood_of
from patterns.carcass.steps import lowered_edges, steps
from patterns.display import ROUNDED
from patterns.part import Part

if TYPE_CHECKING:
    from cli.request import Job

CAUTIONS = (
    "Cut every angle in scrap of the same thickness first, and try four such ends together before the wood itself.",
    "Set the blade and the gauge with the saw unplugged. Keep the guard and the riving knife on, and hands out of the "
    "blade's line; follow the saw's own manual, and have someone qualified show you what you have not done before.",
)
ON_EDGE = (
    "Crosscut it first, square to the face, at the angle of the gauge that stands beside it; then lean it. On edge against "
    "a tall fence: screw a fence as high as the board to the saw's own, hold the board to it with a "
    "feather board, keep the sharp edge upwards and away from the blade's line, and push with a block. If the board is "
    "too short or too narrow to stand safely, plane the bevel by hand."
)
LEVEL = (
    "Its level curve is cut with the board held as it stands in the piece and the blade plumb: on the band-saw in a cradle, "
    "or by hand. A tilted table makes one bevel all along, which is level only where the edge is."
)
WIDE = (
    "Too wide for the gauge: clamp a straight edge to the board and run the portable saw along it, the board on foam or "
    "battens, with its blade tilted alike."
)
LEAST_GAP_TOLD = 25.4 / 64
"""A gap at fingers that is wider than this (mm, 1/64 in) shows."""


def lines(job: Job) -> list[str]:
    """The whole report."""
    told = list(_report(job))
    if any(ROUNDED in line for line in told):
        told += ["", f"{ROUNDED} stands before a figure that was rounded by more than a quarter of its last division."]
    return told


def _report(job: Job) -> Iterator[str]:
    yield f"{job.piece.title}: what the saw is set to"
    yield from report.paragraph(
        "Tilt is from square, the gauge from a square cut. Where the outside face is the short one, the cut leans in over "
        "the board when that face is up. Points are told of the outside face; what is a long point there is a short one on "
        "the inside face, and the other way round; ends are told in the order that one meets them going round the board "
        "counter-clockwise, outside face up. Lengths are of straight edges, before curves, corners and cuts."
    )
    settings = [settings_of(part, job.shop.shop) for part in job.parts]
    for part, found in zip(job.parts, settings, strict=True):
        yield ""
        yield from _part(part, found, job)
    every = [one for found in settings for one in found]
    yield from _corners(job)
    yield ""
    yield from _warned(every, job)
    for caution in CAUTIONS:
        yield from report.paragraph(caution)


def _part(part: Part, settings: Sequence[EdgeSetting], job: Job) -> Iterator[str]:
    spec, display = part.spec, job.display
    thick = f", {display.both(spec.thickness.value)} thick" if spec.thickness is not None else ""
    stands = _stands(spec.panel)
    yield f"{part.name} (make {spec.quantity}){thick}{stands}"
    if spec.panel is not None:
        wide, high = wood_of(spec.panel.board)
        yield f"of a board at least {display.at_least(wide)} by {display.at_least(high)}, both faces counted"
    rows = [(one.edge, _meets(one, spec.panel), _tilt(one), _gauge(one, job), _long(one)) for one in settings]
    yield from report.table(("edge", "meets", "blade tilt", "gauge or fence", "long face"), rows)
    yield ""
    rows = [
        (one.edge, display.length(one.length_outside), display.length(one.length_inside), _points(one), _by_hand(one))
        for one in settings
    ]
    head = ("length of", "outside face", "inside face", "on the outside", "by hand: on the face, across the edge")
    yield from report.table(head, rows, right="lrr")
    if spec.panel is not None and any(cut == "level" for _, cut in spec.panel.curves):
        yield from report.paragraph(LEVEL)
    for number, run in enumerate(glue_lengths(part)):
        yield from report.paragraph(
            f"glue line {number + 1}: {display.length(run.outside)} on the outside face ({run.points[0]} to "
            f"{run.points[1]}), {display.length(run.inside)} on the inside face"
        )
    for block in blocks_of(part):
        yield from report.paragraph(
            f"clamp blocks for the {block.edge} edge: {_shown(abs(block.tilt))}, {display.length(block.width)} wide, "
            f"{display.length(BLOCK_LONG_MM)} long, {block.count} of them; drawn full size with --shop-aids"
        )
    if spec.panel is not None:
        for joint in spec.panel.joints:
            yield from _joint(joint, job)


def _corners(job: Job) -> Iterator[str]:
    """What does not come out flush where walls meet."""
    told = [
        f"the {one.higher} stands {job.display.amount(one.amount)} above the {one.lower} at their corner"
        for one in steps(job.parts)
    ]
    told += [
        f"the rounded edge of the {one.rounded} comes down {job.display.amount(one.amount)} more than that of the "
        f"{one.other} beside it"
        for one in lowered_edges(job.parts)
    ]
    if told:
        yield ""
        yield "Where walls meet:"
        for words in told:
            yield from report.paragraph(words, "  ")


def _stands(panel: Panel | None) -> str:
    if panel is None:
        return ""
    if panel.carcass == "staved" and len(panel.stands) > 1:
        return ""
    names = [name.replace("_", " ") for name in panel.stands]
    return f", drawn as the {names[0]}" if len(names) > 1 and panel.carcass == "box" else ""


def _meets(one: EdgeSetting, panel: Panel | None) -> str:
    joint = panel.joint_at(one.edge) if panel is not None else None
    if joint is None:
        return one.meets.replace("_", " ") if one.meets else "curve" if one.is_curved else "free"
    return f"{joint.other}, {joint.kind}"


def _tilt(one: EdgeSetting) -> str:
    degrees = round(abs(math.degrees(one.tilt)), 1)
    if degrees == 0.0:
        return "square"
    return f"{round(90.0 - abs(math.degrees(one.tilt)), 1):g}°, on edge" if one.on_edge else f"{degrees:g}°"


def _gauge(one: EdgeSetting, job: Job) -> str:
    if one.is_curved:
        return "band-saw, to the line"
    if one.gauge is None:
        if one.taper is not None and round(abs(math.degrees(one.taper)), 1):
            return f"taper of {round(abs(math.degrees(one.taper)), 1):g}° to the {one.reference}"
        return "along the fence"
    off = round(math.degrees(one.gauge), 1)
    reading = f", {round(90.0 - abs(off), 1):g}° on this gauge" if job.shop.shop.table_saw.gauge_at_square == 90 else ""
    if off == 0.0:
        said = f"square to the {one.reference}{', 90° on this gauge' if reading else ''}"
    else:
        way = "widens" if off > 0.0 else "narrows"
        said = f"{abs(off):g}° off square{reading}; it {way} from the {one.reference}"
    if one.way == "straight edge":
        offset = job.display.length(job.shop.shop.portable_saw_base_offset)
        return f"{said}; straight edge {offset} from the cut"
    return said


def _long(one: EdgeSetting) -> str:
    return (
        f"the {one.long_face} face"
        if one.long_face is not None and round(math.degrees(abs(one.tilt)), 1)
        else "both alike"
    )


def _points(one: EdgeSetting) -> str:
    first, last = one.points
    return "both ends square" if (first, last) == ("square", "square") else f"{first} to {last}"


def _by_hand(one: EdgeSetting) -> str:
    if one.face_line is None or one.edge_line is None:
        return ""
    return f"{_shown(one.face_line)} and {_shown(one.edge_line)} to the {one.reference}"


def _shown(radians: float) -> str:
    return f"{round(math.degrees(radians), 1):g}°"


def _joint(joint: EndJoint, job: Job) -> Iterator[str]:
    display = job.display
    lead = f"{joint.edge}, to {_called(joint.other)}: {_shown(joint.dihedral)} inside the corner"
    if joint.rabbet:
        yield from report.paragraph(
            f"{lead}; rabbet {display.length(joint.rabbet)} deep and {display.length(joint.rabbet_width)} wide in the "
            "inside face, its shoulder as the end leans; nail through the outside face"
        )
        return
    if joint.comb is None:
        yield from report.paragraph(lead)
        return
    comb = joint.comb
    play = f", each gap {display.amount(joint.play)} wider than its finger" if joint.play else ""
    owner = "this board has the finger" if joint.owns_first else "this board has the gap"
    yield from report.paragraph(
        f"{lead}; fingers {display.length(comb.width)} wide, {len(comb.cheeks) + 1} fingers and gaps{play}; at the bottom "
        f"{owner}, "
        f"and the first finger edge is {display.length(comb.cheeks[0])} along the corner from the bottom outside point"
    )
    if joint.cut == "square":
        yield from report.paragraph(f"on a square jig the roots stand off by {display.amount(joint.gap)}", "  ")
    else:
        yield from report.paragraph("tips and roots are cut with the stock tilted, and fit exactly", "  ")


def _called(board: str) -> str:
    return board if board.startswith("stave") else f"the {board}"


def _warned(settings: Sequence[EdgeSetting], job: Job) -> Iterator[str]:
    display = job.display
    on_edge = [one for one in settings if one.on_edge]
    if on_edge:
        most = _shown(job.shop.shop.table_saw.most_tilt)
        which = ", ".join(f"{one.part} {one.edge}" for one in on_edge)
        widest = display.length(max(one.feather for one in on_edge))
        yield from report.paragraph(
            f"The saw leans to {most} at most ({which}). {ON_EDGE} The thin edge reaches {widest} beyond the other face."
        )
    if any(one.way == "straight edge" for one in settings):
        yield from report.paragraph(WIDE)
    needed = most_needed(settings)
    if needed:
        ends = [one for one in settings if one.gauge is not None and one.tilt_opens]
        gauge = display.amount(max(one.gauge_opens for one in ends))
        tilt = display.amount(max(one.tilt_opens for one in ends))
        yield from report.paragraph(
            f"A tenth of a degree: in the gauge it opens a joint by {gauge} at its far end, in the tilt by {tilt} across "
            f"the thickness. The {needed} matters more."
        )
