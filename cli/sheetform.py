"""The options that say what sheets are like: paper, overlap, margin and printer; and the sheet form they ask for."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from msgspec.structs import replace

from cli import options, printers
from patterns.errors import PatternError
from patterns.wording import quoted
from tiling.form import LEAST_WINDOW_MM, SheetForm, checked
from tiling.units import UNITS_PER_MM

if TYPE_CHECKING:
    from cli.request import Job
    from tiling.recipe import Recipe

MOST_OVERLAP = 1 / 3
"""Of a sheet's window: more is a slip of the pen, and wastes paper."""


def add_options(parser: argparse.ArgumentParser) -> None:
    """--paper, --overlap, --margin, --printer."""
    parser.add_argument(
        "--paper",
        metavar="NAME",
        help="letter, legal, tabloid, A5, A4, A3, A2, a size such as '12 in x 18 in', or a plotter's roll such as "
        "'roll 24 in' (letter for a file in inches, else A4)",
    )
    parser.add_argument("--overlap", metavar="LENGTH", help="the strip that neighbouring sheets share (10 mm)")
    parser.add_argument("--margin", metavar="LENGTH", help="what the printer can't reach at the paper's edges (1/4 in)")
    options.add_printer(parser, "if left out, the sheets of an older PDF keep their own correction")


def asked_for(arguments: argparse.Namespace, job: Job, like: Recipe | None) -> SheetForm:
    """The form asked for; what was not asked for is as in the PDF that was read, or else as usual."""
    from tiling.order import form_for
    from tiling.paper import paper

    asked = [word for word in ("--paper", "--overlap", "--margin") if getattr(arguments, word[2:]) is not None]
    if like is not None and asked:
        what = f"--like keeps the paper, margin and overlap of {arguments.like.name}; leave this out"
        raise PatternError.of(", ".join(asked), what)
    former = like or job.carried
    base = former.form if former is not None else None
    units = job.piece.units
    chosen = paper(arguments.paper, units) if arguments.paper is not None else None
    margin = options.length("--margin", arguments.margin, units)
    overlap = options.length("--overlap", arguments.overlap, units)
    printer = printers.asked_for(arguments.printer, former)
    if base is None:
        return _sound(replace(form_for(units, chosen, margin, overlap), printer=printer), arguments, job)
    form = form_for(
        units,
        chosen or base.paper,
        base.margin_mm if margin is None else margin,
        base.overlap_mm if overlap is None else overlap,
    )
    return _sound(replace(form, printer=printer), arguments, job)


def _sound(form: SheetForm, arguments: argparse.Namespace, job: Job) -> SheetForm:
    """The form, if a pattern can be printed on it. Raises PatternError that names margin and overlap as they were given."""
    most = min(form.window) / UNITS_PER_MM * MOST_OVERLAP
    if arguments.overlap is not None and form.overlap_mm > most >= LEAST_WINDOW_MM * MOST_OVERLAP:
        both = job.display.both
        limit = f"on {form.paper.name} paper {job.display.at_most(most)} is the most, a third of a sheet's window"
        raise PatternError.of("--overlap", f"{quoted(arguments.overlap)} is {both(form.overlap_mm)}; {limit}")
    words = {"--margin": arguments.margin, "--overlap": arguments.overlap}
    place = ", ".join(f"{option} {quoted(text)}" for option, text in words.items() if text is not None)
    try:
        return checked(form)
    except PatternError as error:
        raise PatternError.of(place or error.problems[0].place, error.problems[0].what) from error
