"""``curvewright sheets FILE -o OUT.pdf``: the patterns laid out on sheets of paper, as one PDF with a cover."""

from __future__ import annotations

import argparse
from pathlib import Path

from msgspec.structs import replace

from cli import halving, options, output, printers, printing, replacing, report, request, terminal
from patterns.errors import PatternError
from patterns.wording import quoted
from tiling.form import LEAST_WINDOW_MM, SheetForm, checked
from tiling.recipe import Recipe
from tiling.units import UNITS_PER_MM

MOST_OVERLAP = 1 / 3
"""Of a sheet's window: more is a slip of the pen, and wastes paper."""

EPILOG = """\
Print the cover first and measure its bars; then print the rest at actual size
(100 %), trim, tape row by row, and measure the proof distances.

--like prints every sheet again where the old ones lay, so that new sheets fit
between old ones. The paper, margin, overlap and the printer's correction are then
those of the old sheets; with another --printer, new sheets lie in the same places
and do not fit to old ones.

--half prints half of a symmetrical part: the left half, or the lower one, with a
strip beyond the flip line by which the other half is checked. The cover says how.

example:  curvewright sheets cradle.toml --paper A4 -o cradle.pdf"""


def describe(parser: argparse.ArgumentParser) -> None:
    """FILE, -o, and what the sheets are like."""
    options.add_file(parser)
    parser.add_argument("-o", "--output", metavar="OUT.pdf", type=Path, required=True, help="the PDF to write")
    parser.add_argument(
        "--paper",
        metavar="NAME",
        help="letter, legal, tabloid, A5, A4, A3, A2, a size such as '12 in x 18 in', or a plotter's roll such as "
        "'roll 24 in' (letter for a file in inches, else A4)",
    )
    parser.add_argument("--overlap", metavar="LENGTH", help="the strip that neighbouring sheets share (10 mm)")
    parser.add_argument("--margin", metavar="LENGTH", help="what the printer can't reach at the paper's edges (1/4 in)")
    options.add_printer(parser, "if left out, a PDF given as FILE or --like keeps its own correction")
    parser.add_argument("--like", metavar="OLD.pdf", type=Path, help="lay the parts as they lay on these older sheets")
    replacing.add_option(parser, "a PDF even if it holds something else")
    parser.add_argument(
        "--explain", action="store_true", help="say why each part lies as it does, and how well the paper is used"
    )
    parser.add_argument("--many", action="store_true", help="print even if it takes more than 2,000 sheets")
    options.add_parts(parser)
    halving.add_option(parser)
    options.add_sizes(parser)
    options.add_shop(parser)
    options.add_json(parser)
    parser.epilog = EPILOG


def run(arguments: argparse.Namespace) -> None:
    """Writes the PDF and says what is in it."""
    from tiling.job import make_sheets

    sources = {"pattern file": arguments.file} | ({"old PDF": arguments.like} if arguments.like else {})
    output.check_target(arguments.output, b"%PDF", sources)
    like = request.read_pdf(arguments.like) if arguments.like else None
    job = request.read(arguments.file, options.sizes_given(arguments.size), arguments.shop, arguments.part)
    job = halving.halved(job, arguments.half, like or job.carried)
    former = replacing.read_former(arguments.output, job.piece.title, arguments.replace)
    form = _form(arguments, job, like)
    order = printing.order_of(job, like or job.carried, arguments.many, form)
    with terminal.progress() as progress:
        printed = make_sheets(order, form, like, progress)
        progress.finish()
        terminal.say(*replacing.note(arguments.output, former, printed))
        output.write_file(arguments.output, printed.data)
    terminal.warn([f"{job.source.name}: {warning}" for warning in printed.warnings])
    if arguments.json:
        report.print_json(printed.to_json() | (printing.account_json(printed) if arguments.explain else {}))
        return
    print("\n".join(printing.sheets_told(arguments.output, printed)))
    if arguments.explain:
        print("\n".join(["", *printing.account_told(printed, job.display)]))


def _form(arguments: argparse.Namespace, job: request.Job, like: Recipe | None) -> SheetForm:
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


def _sound(form: SheetForm, arguments: argparse.Namespace, job: request.Job) -> SheetForm:
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
