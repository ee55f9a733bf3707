"""``curvewright compare OLD NEW``: what differs between two versions of a piece, in words and in pictures."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from cli import options, output, ownfiles, replacing, report, terminal
from patterns.errors import PatternError

if TYPE_CHECKING:
    from cli.comparing import Comparison
    from cli.comparing_pictures import Written

EPILOG = """\
OLD and NEW are pattern files, or PDFs made by 'curvewright sheets'. Angles that
differ come first, since they may mean new machine set-ups; then sizes, parts with the
largest distance between the old and the new cut line, other figures, sheets and
warnings. With -o a picture of each part that differs: the new line wide and
continuous, the old one narrow and dashed.

example:  curvewright compare cradle.pdf cradle.toml --size 'arch_rise=2 1/4' -o changes"""


def describe(parser: argparse.ArgumentParser) -> None:
    """OLD, NEW, -o, --png, --part, --size, --shop, --json."""
    parser.add_argument("old", metavar="OLD", type=Path, help=options.FILE_HELP)
    parser.add_argument("new", metavar="NEW", type=Path, help="another, or the same with --size")
    parser.add_argument("-o", "--output", metavar="DIR", type=Path, help="the folder to write pictures in")
    parser.add_argument("--png", action="store_true", help="each picture as PNG as well (with -o)")
    replacing.add_option(parser, "files of these names even if they are not ours")
    options.add_parts(parser)
    options.add_sizes(parser)
    options.add_shop(parser)
    options.add_json(parser)
    parser.epilog = EPILOG


def run(arguments: argparse.Namespace) -> None:
    """Says what differs, and draws it."""
    from cli import comparing  # late: it loads what prints

    if arguments.png and arguments.output is None:
        raise PatternError.of("--png", "says how pictures are written; name the folder for them with -o")
    given = options.sizes_given(arguments.size)
    sides = comparing.read(arguments.old, arguments.new, given, arguments.shop, arguments.part)
    with terminal.progress() as progress:
        found = comparing.compared(sides, progress)
    written = _draw(found, arguments) if arguments.output is not None else {}
    if arguments.json:
        from cli import comparing_json

        report.print_json(comparing_json.of_comparison(found, written))
        return
    from cli import comparing_text

    print("\n".join(comparing_text.lines(found, [path for paths in written.values() for path in paths])))


def _draw(found: Comparison, arguments: argparse.Namespace) -> Written:
    """Writes the pictures, all or none; returns the files of each pattern that differs."""
    from cli.comparing_pictures import pictures  # late: only -o draws

    made, written = pictures(found, arguments.output, arguments.png)
    files = {path: ownfiles.signed(data, path.suffix, "compare") for path, data in made.items()}
    replacing.check_drawings(files, arguments.replace, "compare")
    if files:
        output.write_files(files, make_folder=arguments.output)
    return written
