"""``curvewright sheets FILE -o OUT.pdf``: the patterns laid out on sheets of paper, as one PDF with a cover."""

from __future__ import annotations

import argparse
from pathlib import Path

from cli import (
    halving,
    mirroring,
    options,
    output,
    printing,
    replacing,
    report,
    request,
    sheetform,
    shopaids,
    templating,
    terminal,
)
from patterns.errors import PatternError
from patterns.wording import quoted

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
    sheetform.add_options(parser)
    parser.add_argument("--like", metavar="OLD.pdf", type=Path, help="lay the parts as they lay on these older sheets")
    replacing.add_option(parser, "a PDF even if it holds something else")
    parser.add_argument(
        "--explain", action="store_true", help="say why each part lies as it does, and how well the paper is used"
    )
    parser.add_argument("--many", action="store_true", help="print even if it takes more than 2,000 sheets")
    options.add_parts(parser)
    halving.add_option(parser)
    mirroring.add_option(parser)
    templating.add_options(parser)
    shopaids.add_option(parser)
    options.add_member(parser)
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
    job = mirroring.mirrored(job, arguments.mirrored, like or job.carried)
    job = halving.halved(job, arguments.half, like or job.carried)
    job = templating.templated(job, arguments, like or job.carried)
    job = shopaids.aided(job, arguments.shop_aids, like or job.carried)
    former = replacing.read_former(arguments.output, job.piece.title, arguments.replace)
    form = sheetform.asked_for(arguments, job, like)
    order = printing.order_of(job, like or job.carried, arguments.many, form, arguments.member)
    if like is not None and not any(like.of(pattern.slug) for pattern in order.patterns):
        what = f"{arguments.like} holds sheets of {quoted(like.title)} and none of the parts printed here; leave it out"
        raise PatternError.of("--like", what)
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
