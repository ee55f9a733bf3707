"""``curvewright packet FILE -o OUT``: all that a member of a class is handed, in one file; or a packet for each member."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from cli import halving, mirroring, options, output, report, request, terminal
from patterns.errors import PatternError

if TYPE_CHECKING:
    from cli.request import Job

EPILOG = """\
A packet holds the sheets for letter and for A4 paper, each part as SVG, DXF and SVG
for a laser cutter, the reports, the cautions, the pattern file, a start page that
opens from disk in any browser, and checksums. It is a folder in a zip file; made
twice, it is the same to the byte.

Read out the packet's word to whoever got it: 'curvewright verify' says it again.

A roster is a table saved as CSV, a line for each member, under the columns 'name',
'paper' (letter and A4 where it is empty), 'mirrored' (yes or no), and any size of
the file. OUT is then a folder: a packet for each, and a summary for the teacher.

example:  curvewright packet cradle.toml -o cradle.zip
          curvewright packet cradle.toml --roster class.csv -o class"""

PAPERS = ("letter", "A4")
"""That sheets are made for if no other is named; of a metric piece A4 first."""


def describe(parser: argparse.ArgumentParser) -> None:
    """FILE, -o, --paper, --member, and what is drawn."""
    options.add_file(parser)
    parser.add_argument(
        "-o", "--output", metavar="OUT", type=Path, required=True, help="the packet to write (a folder with --roster)"
    )
    parser.add_argument(
        "--paper",
        metavar="NAME",
        action="append",
        default=[],
        help="sheets for this paper; may be given several times (letter and A4 if left out)",
    )
    options.add_member(parser)
    parser.add_argument("--roster", metavar="CLASS.csv", type=Path, help="make a packet for each member of this table")
    parser.add_argument("--skip-bad", action="store_true", help="leave out lines of the roster that have mistakes")
    parser.add_argument(
        "--replace", action="store_true", help="write over a file even if it is no packet of this piece"
    )
    options.add_parts(parser)
    halving.add_option(parser)
    mirroring.add_option(parser)
    options.add_sizes(parser)
    options.add_shop(parser)
    options.add_json(parser)
    parser.epilog = EPILOG


def run(arguments: argparse.Namespace) -> None:
    """Writes the packet, or all packets of a class, and says what is in them."""
    _check_options(arguments)
    if arguments.roster is None:
        output.check_target(arguments.output, b"PK", {"pattern file": arguments.file})
    job = request.read(arguments.file, options.sizes_given(arguments.size), arguments.shop, arguments.part)
    job = mirroring.mirrored(job, arguments.mirrored, job.carried)
    job = halving.halved(job, arguments.half, job.carried)
    if arguments.roster is None:
        _write_one(arguments, job)
    else:
        _write_class(arguments, job)


def _check_options(arguments: argparse.Namespace) -> None:
    """Raises PatternError for options that do not go together."""
    if arguments.roster is None and arguments.skip_bad:
        raise PatternError.of("--skip-bad", "is for the lines of a roster; name it with --roster")
    for option in ("member", "mirrored"):
        if arguments.roster is not None and getattr(arguments, option):
            raise PatternError.of(f"--{option}", "stands in the roster, in a column of its own; leave it out")


def _write_one(arguments: argparse.Namespace, job: Job) -> None:
    from cli.packets import former
    from cli.packets.contents import packet_of
    from tiling.paper import paper

    if not arguments.replace:
        former.check(arguments.output, job.piece.title)
    papers = [paper(name, job.piece.units) for name in _papers(arguments, job)]
    carried = job.carried.member if job.carried is not None else ""
    packet = packet_of(job, papers, carried if arguments.member is None else arguments.member)
    output.write_file(arguments.output, packet.to_zip())
    terminal.warn([job.said(problem) for problem in job.warnings])
    if arguments.json:
        files = [
            {"path": f"{packet.folder}/{one.path}", "what": one.what, "bytes": len(one.data)} for one in packet.files
        ]
        report.print_json(
            {"packet": str(arguments.output), "word": packet.word, "sheets": dict(packet.sheet_counts), "files": files}
        )
        return
    counts = ", ".join(f"{count} on {name}" for name, count in packet.sheet_counts.items())
    print(f"{arguments.output}: {len(packet.files)} files in the folder {packet.folder}; sheets: {counts}")
    print(f"The packet's word is {packet.word}. Whoever gets it opens start.html first.")


def _write_class(arguments: argparse.Namespace, job: Job) -> None:
    from cli.packets import classroom, summary

    folder: Path = arguments.output
    papers, looked_at = _papers(arguments, job), None if arguments.replace else folder
    with terminal.progress() as progress:
        made = classroom.handout(job, arguments.roster, papers, arguments.skip_bad, progress, looked_at)
    output.write_files({folder / name: data for name, data in made.files.items()}, make_folder=folder)
    terminal.warn([job.said(problem) for problem in job.warnings])
    terminal.warn([f"{arguments.roster.name}: {problem}; left out" for problem in made.left_out])
    others = classroom.others_in(folder, list(made.files), job.piece.title)
    terminal.warn([f"{folder / name} was there before and is of no member of this roster" for name in others])
    if arguments.json:
        report.print_json(summary.as_json(job.piece.title, made.made, made.left_out))
    else:
        print(made.files[classroom.SUMMARY].decode("utf-8"), end="")
        print(f"\nAll of it is in {folder}, the summary as {classroom.SUMMARY} and {classroom.SUMMARY_HTML}.")


def _papers(arguments: argparse.Namespace, job: Job) -> Sequence[str]:
    """Raises PatternError where one is named twice."""
    papers = arguments.paper or (PAPERS if job.piece.units == "in" else PAPERS[::-1])
    if len({name.casefold() for name in papers}) < len(papers):
        raise PatternError.of("--paper", "one paper is named twice; name each once")
    return tuple(papers)
