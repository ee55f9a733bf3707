"""``curvewright patterns FILE -o DIR``: each part or board full size, as an SVG file, if wanted with a picture."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from cli import halving, options, output, replacing, report, request, terminal
from patterns.pattern import Pattern

EPILOG = """\
One file a part, or a board where a part is cut out before it is glued up. The
drawing is full size in millimetres, the cut line is the path whose id begins with
'cut-', and everything else stands in groups named by what it is for. The folder
is made if need be. Files appear all together or not at all.

example:  curvewright patterns cradle.toml -o drawings --png"""

PICTURE_DPI = 100.0
PICTURE_SIDE_PX = 3000
"""A picture is for looking at: a long part is drawn smaller than ``PICTURE_DPI`` would have it."""


def describe(parser: argparse.ArgumentParser) -> None:
    """FILE, -o, --png, --part, --size, --shop, --json."""
    options.add_file(parser)
    parser.add_argument("-o", "--output", metavar="DIR", type=Path, required=True, help="the folder to write in")
    parser.add_argument("--png", action="store_true", help="a picture of each pattern as well")
    replacing.add_option(parser, "files of these names even if they are not ours")
    options.add_parts(parser)
    halving.add_option(parser)
    options.add_sizes(parser)
    options.add_shop(parser)
    options.add_json(parser)
    parser.epilog = EPILOG


def run(arguments: argparse.Namespace) -> None:
    """Writes the files and says what they are."""
    from patterns.svg import svg_text

    job = request.read(arguments.file, options.sizes_given(arguments.size), arguments.shop, arguments.part)
    job = halving.halved(job, arguments.half, job.carried)
    folder: Path = arguments.output
    files: dict[Path, bytes] = {}
    told: list[tuple[Pattern, tuple[Path, ...]]] = []
    for pattern in job.patterns:
        drawing = svg_text(pattern).encode("utf-8")
        path = folder / f"{pattern.slug}.svg"
        shown = {path: drawing} | ({path.with_suffix(".png"): _picture(drawing, pattern)} if arguments.png else {})
        told.append((pattern, tuple(shown)))
        files |= shown
    replacing.check_drawings(files, arguments.replace)
    output.write_files(files, make_folder=folder)
    terminal.warn([job.said(problem) for problem in job.warnings])
    if arguments.json:
        report.print_json({"patterns": [_told(*one) for one in told]})
    else:
        rows = [(str(path), pattern.name, _size(pattern, job)) for pattern, paths in told for path in paths]
        print("\n".join(report.table(("file", "pattern", "size"), rows)))


def _picture(drawing: bytes, pattern: Pattern) -> bytes:
    import cairosvg  # late: only a picture needs it

    x0, y0, x1, y1 = pattern.bounds
    longest_px = max(x1 - x0, y1 - y0) / 25.4 * PICTURE_DPI
    scale = PICTURE_DPI / 96.0 * min(1.0, PICTURE_SIDE_PX / longest_px)
    picture: bytes = cairosvg.svg2png(bytestring=drawing, scale=scale, background_color="white")
    return picture


def _told(pattern: Pattern, paths: Sequence[Path]) -> dict[str, object]:
    files = dict(zip(("file", "png"), map(str, paths), strict=False))
    return {**files, "pattern": pattern.name, "part": pattern.part, "bounds_mm": list(pattern.bounds)}


def _size(pattern: Pattern, job: request.Job) -> str:
    x0, y0, x1, y1 = pattern.outline.bounds
    strip = " with its flip strip" if pattern.half is not None else ""
    return f"{job.display.length(x1 - x0)} by {job.display.length(y1 - y0)}{strip}"
