"""``curvewright reprint OLD.pdf FILE -o NEW.pdf``: after a change, only the sheets that differ."""

from __future__ import annotations

import argparse
from pathlib import Path

from cli import halving, options, output, printers, printing, replacing, report, request, terminal
from patterns.errors import PatternError
from patterns.wording import quoted
from tiling.recipe import Recipe

EPILOG = """\
Compares the new piece with the old sheets, on the old layout, and prints the cover
and the sheets that differ. It lists which of the old sheets to keep and which to
throw away. FILE may be the changed pattern file, or OLD.pdf again with --size.

example:  curvewright reprint cradle.pdf cradle.toml --size 'arch_rise=2 1/4' -o change.pdf"""


def describe(parser: argparse.ArgumentParser) -> None:
    """OLD.pdf, FILE, -o, --size, --shop, --json."""
    parser.add_argument("old", metavar="OLD.pdf", type=Path, help="the PDF whose sheets are on the bench")
    options.add_file(parser)
    parser.add_argument("-o", "--output", metavar="NEW.pdf", type=Path, required=True, help="the PDF to write")
    options.add_printer(parser, "the old sheets' correction is kept, and another one refused")
    replacing.add_option(parser, "a PDF even if it holds something else")
    options.add_sizes(parser)
    options.add_shop(parser)
    options.add_json(parser)
    parser.epilog = EPILOG


def run(arguments: argparse.Namespace) -> None:
    """Writes the PDF and says what to keep, throw away and print."""
    from tiling.job import make_reprint

    _check_order(arguments.old, arguments.file, arguments.output)
    output.check_target(arguments.output, b"%PDF", {"old PDF": arguments.old, "pattern file": arguments.file})
    old = request.read_pdf(arguments.old)
    job = request.read(arguments.file, options.sizes_given(arguments.size), arguments.shop, old.only)
    _check_piece(old, arguments.old, job)
    printers.check_same(arguments.printer, old, arguments.old, arguments.file)
    job = halving.halved(job, (), old)
    former = replacing.read_former(arguments.output, job.piece.title, arguments.replace)
    order = printing.order_of(job, old, many=True)
    with terminal.progress() as progress:
        printed = make_reprint(order, old, progress)
        progress.finish()
        terminal.say(*replacing.note(arguments.output, former, printed))
        output.write_file(arguments.output, printed.data)
    terminal.warn([f"{job.source.name}: {warning}" for warning in printed.warnings])
    terminal.say(*printing.sizes_no_longer_given(old, job))
    if arguments.json:
        report.print_json(printing.reprint_json(printed))
    else:
        print("\n".join(printing.reprint_told(arguments.output, printed)))


def _check_order(old: Path, file: Path, new: Path) -> None:
    """Raises PatternError where OLD.pdf and FILE have changed places."""
    if not request.is_pdf(old) and request.is_pdf(file) and old.is_file():
        right = f"curvewright reprint {file} {old} -o {new}"
        raise PatternError.of("", f"{old} is no PDF and {file} is one: the old PDF comes first, as in '{right}'")


def _check_piece(old: Recipe, path: Path, job: request.Job) -> None:
    """Raises PatternError where the old sheets are those of another piece."""
    if old.title != job.piece.title:
        held = f"{path} holds sheets of {quoted(old.title)}, and {job.source.name} is {quoted(job.piece.title)}"
        remedy = "every sheet carries the title, so none could be kept; print all of them with 'curvewright sheets'"
        raise PatternError.of("", f"{held}: {remedy}")
