"""``curvewright settings FILE``: blade tilt, mitre-gauge angle and lengths for every edge of every part."""

from __future__ import annotations

import argparse

from cli import options, report, request, settings_json, terminal

EPILOG = """\
For each edge: how far the blade leans from square, how far the mitre gauge is
turned from a square cut (as this shop's gauge reads), which face comes out the
longer one, every length that may be marked, and the lines for hand work. The
saw's limits are those of the shop file. Where it can't lean so far, the cut is
told as one on edge, with its caution.

example:  curvewright settings cradle.toml"""


def describe(parser: argparse.ArgumentParser) -> None:
    """FILE, --part, --size, --shop, --json."""
    options.add_file(parser)
    options.add_parts(parser)
    options.add_sizes(parser)
    options.add_shop(parser)
    options.add_json(parser)
    parser.epilog = EPILOG


def run(arguments: argparse.Namespace) -> None:
    """Prints the settings, and warnings on standard error."""
    job = request.read(arguments.file, options.sizes_given(arguments.size), arguments.shop, arguments.part)
    terminal.warn([job.said(problem) for problem in job.warnings])
    if arguments.json:
        report.print_json(settings_json.of_job(job))
        return
    from cli import settings_text  # late: figures alone need no words

    print("\n".join(settings_text.lines(job)))
