"""Router templates: which parts are asked for as such, and with which guide."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from msgspec.structs import replace

from cli import options
from cli.request import Job
from patterns.errors import PatternError, Problem
from patterns.wording import listed, quoted, rather

if TYPE_CHECKING:
    from patterns.routerguide import Template
    from tiling.recipe import Recipe


def add_options(parser: argparse.ArgumentParser) -> None:
    """--template PART, --guide NAME, --around."""
    parser.add_argument(
        "--template",
        metavar="PART",
        action="append",
        default=[],
        help="a router template of this part, its line moved by (guide - bit) / 2; may be given several times. Patterns "
        "of parts are then drawn only of those that --part or --half names",
    )
    parser.add_argument(
        "--guide",
        metavar="NAME",
        help="the bushing or bearing and the bit of the templates, such as '5/8 bushing, 1/4 bit' or 'flush, 1/2 bit' "
        "(the shop's narrowest if left out)",
    )
    parser.add_argument(
        "--around", action="store_true", help="templates that surround the part: windows, for an opening of its shape"
    )


def templated(job: Job, arguments: argparse.Namespace, former: Recipe | None = None) -> Job:
    """The job with the templates asked for; where none is, those of sheets printed before.

    Raises PatternError for a part or a guide that is not there, or a template that can't be made.
    """
    names: Sequence[str] = arguments.template
    if not names:
        if arguments.guide is not None or arguments.around:
            option = "--guide" if arguments.guide is not None else "--around"
            raise PatternError.of(option, "goes with --template PART, which names the part", job.source.name)
        return as_before(job, former)
    _check_names(job, names)
    from patterns.routerguide import Template, guide_named, stock_of  # late: few ask for templates

    shop = job.shop.shop
    guide = guide_named(arguments.guide or "", shop, job.display, partial(_length, job))
    made = with_templates(job, [Template(name, guide, arguments.around) for name in dict.fromkeys(names)])
    if arguments.guide is not None:
        return made
    what = f"none is named, so it is the {guide.words}; {stock_of(shop, job.display)}"
    return replace(made, warnings=(*made.warnings, Problem("--guide", what)))


def as_before(job: Job, former: Recipe | None) -> Job:
    """The job with the templates of sheets printed before, those of parts that are gone left out."""
    known = {spec.name for spec in job.piece.parts}
    return with_templates(job, [one for one in (former.templates if former else ()) if one.part in known])


def with_templates(job: Job, templates: Sequence[Template]) -> Job:
    """The job with these templates, and what their bits can't follow among its warnings."""
    if not templates:
        return job
    result = replace(job, templates=tuple(templates))
    try:
        found = result.template_warnings()
    except PatternError as error:
        raise PatternError(error.problems, job.source.name) from error
    return replace(result, warnings=(*job.warnings, *_of_bevels(job, templates), *found))


def _of_bevels(job: Job, templates: Sequence[Template]) -> list[Problem]:
    """Of panels whose edges lean: a router cuts square to the face, and where the outside face is the short one it takes
    wood that the inside face needs."""
    names = [one.part for one in templates]
    found = []
    for part in job.parts:
        panel = part.spec.panel
        if part.spec.name not in names or panel is None:
            continue
        from patterns.carcass.settings import SQUARE  # late: few pieces have panels

        board = panel.board
        tilts = {side.edge: board.tilt_of(k) for k, side in enumerate(board.sides) if abs(board.tilt_of(k)) > SQUARE}
        if tilts:
            edges = listed(tilts, "and")
            what = f"a router cuts square, and these edges lean: {edges}; saw them as the settings say, and rout the curves"
            found.append(Problem(f"part {quoted(part.name)}, template", f"{what} alone"))
    return found


def _check_names(job: Job, names: Sequence[str]) -> None:
    known = [spec.name for spec in job.piece.parts]
    unknown = [name for name in names if name not in known]
    if unknown:
        problems = [
            Problem("--template", f"there is no part {quoted(name)}; {rather(name, known)}") for name in unknown
        ]
        raise PatternError(problems, job.source.name)


def _length(job: Job, text: str) -> float:
    return options.length("--guide", text, job.piece.units) or 0.0
