"""``curvewright settings FILE``: blade tilt, mitre-gauge angle and lengths for every edge of every part."""

from __future__ import annotations

import argparse

from cli import card_json, options, report, request, settings_json, terminal

EPILOG = """\
For each edge: how far the blade leans from square, how far the mitre gauge is
turned from a square cut (as this shop's gauge reads), which face comes out the
longer one, every length that may be marked, and the lines for hand work. The
saw's limits are those of the shop file. Where it can't lean so far, the cut is
told as one on edge, with its caution.

With --card all cuts stand by machine set-up, in the order to make them: which face
is up, which edge is at the gauge or the fence, which side is kept, and how the
board is moved between its two ends.

example:  curvewright settings cradle.toml
          curvewright settings cradle.toml --card"""


def describe(parser: argparse.ArgumentParser) -> None:
    """FILE, --card, --part, --size, --shop, --json."""
    options.add_file(parser)
    options.add_parts(parser)
    options.add_sizes(parser)
    options.add_shop(parser)
    parser.add_argument(
        "--card", action="store_true", help="the cuts by machine set-up, and how each board lies on the saw"
    )
    options.add_json(parser)
    parser.epilog = EPILOG


def run(arguments: argparse.Namespace) -> None:
    """Prints the settings, and warnings on standard error."""
    job = request.read(arguments.file, options.sizes_given(arguments.size), arguments.shop, arguments.part)
    terminal.warn([job.said(problem) for problem in job.warnings])
    if arguments.json:
        report.print_json(card_json.of_job(job) if arguments.card else settings_json.of_job(job))
        return
    from cli import card_text, settings_text  # late: figures alone need no words

    print("\n".join(card_text.lines(job) if arguments.card else settings_text.lines(job)))
