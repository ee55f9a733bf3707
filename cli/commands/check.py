"""``curvewright check FILE``: how a pattern file is read, before any wood or paper is spent on it."""

from __future__ import annotations

import argparse

from cli import findings, options, report, request, terminal

EPILOG = """\
Shows the sizes in force, how each unusual figure was read, each part's overall
dimensions, each curve's length, span, rise and tightest place, how a measured
curve was faired, and what the machines of the shop can't do.

example:  curvewright check cradle.toml --size 'arch_rise=2 1/4'"""


def describe(parser: argparse.ArgumentParser) -> None:
    """FILE, --size, --shop, --json."""
    options.add_file(parser)
    options.add_sizes(parser)
    options.add_shop(parser)
    options.add_json(parser)
    parser.epilog = EPILOG


def run(arguments: argparse.Namespace) -> None:
    """Prints the report, and warnings on standard error under --json (they are in the JSON too)."""
    job = request.read(arguments.file, options.sizes_given(arguments.size), arguments.shop)
    if arguments.json:
        report.print_json(findings.of_job(job))
        terminal.warn([job.said(problem) for problem in job.warnings])
        return
    from cli import findings_text

    print("\n".join(findings_text.lines(job)))
