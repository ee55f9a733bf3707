"""``curvewright packet FILE -o OUT.zip``: all that a member of a class is handed, in one file."""

from __future__ import annotations

import argparse
from pathlib import Path

from cli import halving, mirroring, options, output, report, request, terminal
from patterns.errors import PatternError

EPILOG = """\
A packet holds the sheets for letter and for A4 paper, each part as SVG, DXF and SVG
for a laser cutter, the reports, the cautions, the pattern file, a start page that
opens from disk in any browser, and checksums. It is a folder in a zip file; made
twice, it is the same to the byte.

Read out the packet's word to whoever got it: 'curvewright verify' says it again.

example:  curvewright packet cradle.toml -o cradle.zip"""

PAPERS = ("letter", "A4")
"""That sheets are made for if no other is named."""


def describe(parser: argparse.ArgumentParser) -> None:
    """FILE, -o, --paper, --member, and what is drawn."""
    options.add_file(parser)
    parser.add_argument("-o", "--output", metavar="OUT.zip", type=Path, required=True, help="the packet to write")
    parser.add_argument(
        "--paper",
        metavar="NAME",
        action="append",
        default=[],
        help="sheets for this paper; may be given several times (letter and A4 if left out)",
    )
    options.add_member(parser)
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
    """Writes the packet and says what is in it."""
    from cli.packets import former
    from cli.packets.contents import packet_of
    from tiling.paper import paper

    output.check_target(arguments.output, b"PK", {"pattern file": arguments.file})
    job = request.read(arguments.file, options.sizes_given(arguments.size), arguments.shop, arguments.part)
    job = mirroring.mirrored(job, arguments.mirrored, job.carried)
    job = halving.halved(job, arguments.half, job.carried)
    if not arguments.replace:
        former.check(arguments.output, job.piece.title)
    papers = [paper(name, job.piece.units) for name in arguments.paper or PAPERS]
    if len({one.name for one in papers}) < len(papers):
        raise PatternError.of("--paper", "one paper is named twice; name each once")
    carried = job.carried.member if job.carried is not None else ""
    packet = packet_of(job, papers, carried if arguments.member is None else arguments.member)
    data = packet.to_zip()
    output.write_file(arguments.output, data)
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
