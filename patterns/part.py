"""A part as it stands when finished: its outline, stretch by stretch, its holes and the boards it comes from."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import cached_property, partial
from typing import TypeVar

from msgspec import Struct

from patterns import blank as blanks
from patterns.blank import Blank
from patterns.boards import boards_of
from patterns.boundary import curve_of, outline_of
from patterns.corners import with_corner
from patterns.curvature import LeastRadius, Turning
from patterns.cuts import with_cut
from patterns.display import Display
from patterns.edgeline import edge_line
from patterns.errors import PatternError, Problem
from patterns.gluelines import glue_runs
from patterns.holes import holes_of
from patterns.joining import joined
from patterns.outline import Outline, signed_area
from patterns.piece import Given, PartSpec
from patterns.slug import slug
from patterns.soundness import blank_problems, outline_problems
from patterns.stretch import Board, GlueRun, Hole, StationMark, Stretch
from patterns.tightest import tightest_of_each

__all__ = ["Board", "GlueRun", "Hole", "Part", "StationMark", "Stretch", "build"]

T = TypeVar("T")


class Part(Struct, frozen=True, eq=False, dict=True):
    """A panel or board, built. ``stretches`` run counter-clockwise, each starting where the one before it ends.

    ``boards`` is empty unless the part is cut out before it is glued up. ``grain`` is in radians from the x axis.
    """

    spec: PartSpec
    name: str
    slug: str
    blank: Blank
    outline: Outline
    stretches: tuple[Stretch, ...]
    holes: tuple[Hole, ...]
    grain: float
    glue: tuple[GlueRun, ...] = ()
    boards: tuple[Board, ...] = ()
    warnings: tuple[Problem, ...] = ()

    @cached_property
    def tightest(self) -> list[dict[Turning, LeastRadius]]:
        """Of each stretch the tightest place to either side."""
        return tightest_of_each([stretch.curve for stretch in self.stretches])


def build(spec: PartSpec, display: Display) -> Part:
    """Builds the part; lengths in messages are worded by ``display``.

    Raises PatternError with every mistake that shows. What stands on something wrong is not judged: corners and cuts
    are looked at once the edges are right, the outline as a whole once its pieces are.
    """
    problems = blanks.problems(spec.blank) + _thickness_problems(spec)
    if problems:
        raise PatternError(problems)
    blank = Blank.of(spec.blank)
    lines, warnings, problems = _edge_lines(spec, blank, display)
    holes, hole_problems = _holes(spec, blank)
    if problems:
        raise PatternError(problems + hole_problems)
    stretches = _worked(spec, _joined(lines, blank, spec, display), blank, display, hole_problems)
    outline = _sound_outline(spec, stretches, holes, blank, display, hole_problems)
    if spec.panel is not None:
        warnings += _panel_warnings(spec, stretches, holes, outline, blank, display)
    runs = glue_runs(spec, outline, display)
    boards = boards_of(spec, blank, stretches, holes) if spec.shape == "before glue" else ()
    return Part(
        spec,
        spec.name,
        slug(spec.name),
        blank,
        outline,
        tuple(stretches),
        tuple(holes),
        _grain(spec.grain),
        runs,
        boards,
        tuple(warnings),
    )


def _panel_warnings(
    spec: PartSpec,
    stretches: Sequence[Stretch],
    holes: Sequence[Hole],
    outline: Outline,
    blank: Blank,
    display: Display,
) -> list[Problem]:
    """What looks weak in a wall of a carcass. Raises PatternError where its joints are eaten."""
    from patterns.carcass.panelcheck import joint_problems, panel_warnings  # late: few parts are walls

    panel = spec.panel
    if panel is None:
        return []
    problems = joint_problems(spec, panel, stretches, outline, blank, display)
    if problems:
        raise PatternError(problems)
    return list(panel_warnings(spec, panel, stretches, holes, _grain(spec.grain), display))


def _thickness_problems(spec: PartSpec) -> list[Problem]:
    if spec.thickness is not None and spec.thickness.value <= 0.0:
        return [Problem(spec.thickness.place, f"{spec.thickness.written}: a thickness has to be more than 0")]
    return []


def _grain(grain: str | Given) -> float:
    if isinstance(grain, Given):
        return grain.value
    return math.pi / 2 if grain == "across" else 0.0


def _gathered(work: Callable[[], T], problems: list[Problem]) -> T | None:
    """What ``work`` returns, or None with its problems added to the list."""
    try:
        return work()
    except PatternError as error:
        problems += error.problems
        return None


def _edge_lines(
    spec: PartSpec, blank: Blank, display: Display
) -> tuple[list[list[Stretch]], list[Problem], list[Problem]]:
    """The line of each edge, warnings and problems."""
    known = {edge.name for edge in blank.edges}
    by_name = {edge.name: edge for edge in spec.edges}
    listed = ", ".join(edge.name for edge in blank.edges)
    problems = [
        Problem(edge.place, f'the blank has no edge "{edge.name}"; its edges are {listed}')
        for edge in spec.edges
        if edge.name not in known
    ]
    lines: list[list[Stretch]] = []
    warnings: list[Problem] = []
    for edge in blank.edges:
        found = _gathered(partial(edge_line, edge, by_name.get(edge.name), blank, display), problems)
        if found is not None:
            lines.append(found[0])
            warnings += found[1]
    return lines, warnings, problems


def _holes(spec: PartSpec, blank: Blank) -> tuple[list[Hole], list[Problem]]:
    holes: list[Hole] = []
    problems: list[Problem] = []
    for number, hole in enumerate(spec.holes):
        holes += _gathered(partial(holes_of, hole, f"hole[{number}]", blank), problems) or []
    return holes, problems


def _joined(lines: Sequence[list[Stretch]], blank: Blank, spec: PartSpec, display: Display) -> list[Stretch]:
    """The lines joined at their corners; where they don't meet, a curve that leaves the blank is named as the cause."""
    try:
        return joined(lines, blank)
    except PatternError as error:
        outside = blank_problems([stretch for line in lines for stretch in line], blank, spec.edges, display)
        raise PatternError(outside or error.problems) from error


def _worked(
    spec: PartSpec, stretches: list[Stretch], blank: Blank, display: Display, others: Sequence[Problem]
) -> list[Stretch]:
    """The boundary after its cuts and corners. Raises PatternError with all problems, ``others`` among them."""
    problems = list(others)
    found = blank_problems(stretches, blank, spec.edges, display) + _closing_problems(stretches, spec, display)
    if found:
        raise PatternError(problems + found)
    for number, cut in enumerate(spec.cuts):
        work = partial(with_cut, stretches, cut, f"cut[{number}]", blank, display)
        stretches = _gathered(work, problems) or stretches
    for corner in spec.corners:
        stretches = _gathered(partial(with_corner, stretches, corner, blank, display), problems) or stretches
    if problems:
        raise PatternError(problems)
    return stretches


def _closing_problems(stretches: Sequence[Stretch], spec: PartSpec, display: Display) -> list[Problem]:
    try:
        area = signed_area(curve_of(stretches))
    except ValueError:
        return [
            Problem(spec.place, "the sweeps of neighbouring edges leave nothing between them: they pass each other")
        ]
    if area > 0:
        return []
    crossings = outline_problems(outline_of(stretches), stretches, (), spec.place, display)
    return crossings or [Problem(spec.place, "the sweeps pass each other: the part is turned inside out")]


def _sound_outline(
    spec: PartSpec,
    stretches: Sequence[Stretch],
    holes: Sequence[Hole],
    blank: Blank,
    display: Display,
    others: Sequence[Problem],
) -> Outline:
    outline = outline_of(stretches, [hole.curve for hole in holes])
    problems = [*others, *outline_problems(outline, stretches, holes, spec.place, display)]
    problems += [p for p in blank_problems(stretches, blank, spec.edges, display) if p not in problems]
    if problems:
        raise PatternError(problems)
    return outline
