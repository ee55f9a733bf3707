"""``curvewright patterns FILE -o DIR``: each part or board full size, as SVG and in other formats if wanted."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path

from cli import (
    drawings,
    halving,
    mirroring,
    options,
    output,
    ownfiles,
    replacing,
    report,
    request,
    shopaids,
    templating,
    terminal,
)
from patterns.pattern import Pattern

EPILOG = """\
One file a part, or a board where a part is cut out before it is glued up. The
drawing is full size in millimetres, the cut line is the path whose id begins with
'cut-', and everything else stands in groups named by what it is for. The folder
is made if need be. Files appear all together or not at all.

DXF is in millimetres (release 2010) with true lines, arcs and splines, a layer for
each kind of line. For a laser cutter, 'cut' and 'engrave' are two groups; set the
machine's power and speed for each by its own manual, try them on scrap of the same
sheet, and never leave it alone while it runs.

example:  curvewright patterns cradle.toml -o drawings --png --dxf"""


def describe(parser: argparse.ArgumentParser) -> None:
    """FILE, -o, --png, --dxf, --laser, --part, --size, --shop, --json."""
    options.add_file(parser)
    parser.add_argument("-o", "--output", metavar="DIR", type=Path, required=True, help="the folder to write in")
    parser.add_argument("--png", action="store_true", help="a picture of each pattern as well")
    parser.add_argument(
        "--dxf", action="store_true", help="each pattern as DXF as well, for routers and other machines"
    )
    parser.add_argument(
        "--laser", action="store_true", help="each pattern as SVG for a laser cutter as well, cut and engrave apart"
    )
    replacing.add_option(parser, "files of these names even if they are not ours")
    options.add_parts(parser)
    halving.add_option(parser)
    mirroring.add_option(parser)
    templating.add_options(parser)
    shopaids.add_option(parser)
    options.add_sizes(parser)
    options.add_shop(parser)
    options.add_json(parser)
    parser.epilog = EPILOG


def run(arguments: argparse.Namespace) -> None:
    """Writes the files and says what they are."""
    job = request.read(arguments.file, options.sizes_given(arguments.size), arguments.shop, arguments.part)
    job = mirroring.mirrored(job, arguments.mirrored, job.carried)
    job = halving.halved(job, arguments.half, job.carried)
    job = templating.templated(job, arguments, job.carried)
    job = shopaids.aided(job, arguments.shop_aids, job.carried)
    folder: Path = arguments.output
    files: dict[Path, bytes] = {}
    told: list[tuple[Pattern, dict[drawings.Kind, Path]]] = []
    for pattern in job.patterns:
        made = drawings.drawings_of(pattern, _kinds(arguments))
        paths = {kind: folder / drawings.file_name(pattern, kind) for kind in made}
        files |= {paths[kind]: ownfiles.signed(data, paths[kind].suffix, "patterns") for kind, data in made.items()}
        told.append((pattern, paths))
    replacing.check_drawings(files, arguments.replace)
    output.write_files(files, make_folder=folder)
    terminal.warn([job.said(problem) for problem in job.warnings])
    if arguments.json:
        report.print_json({"patterns": [_told(*one) for one in told]})
    else:
        rows = [(str(path), pattern.name, _size(pattern, job)) for pattern, paths in told for path in paths.values()]
        print("\n".join(report.table(("file", "pattern", "size"), rows)))


def _kinds(arguments: argparse.Namespace) -> list[drawings.Kind]:
    asked: dict[drawings.Kind, bool] = {"png": arguments.png, "dxf": arguments.dxf, "laser": arguments.laser}
    return ["svg", *(kind for kind, wanted in asked.items() if wanted)]


def _told(pattern: Pattern, paths: Mapping[drawings.Kind, Path]) -> dict[str, object]:
    files = {"file" if kind == "svg" else kind: str(path) for kind, path in paths.items()}
    return {**files, "pattern": pattern.name, "part": pattern.part, "bounds_mm": list(pattern.bounds)}


def _size(pattern: Pattern, job: request.Job) -> str:
    x0, y0, x1, y1 = pattern.outline.bounds
    strip = " with its flip strip" if pattern.half is not None else ""
    return f"{job.display.length(x1 - x0)} by {job.display.length(y1 - y0)}{strip}"
