"""``curvewright unpack SHEETS.pdf -o DIR``: the pattern file and the shop file that sheets carry, written out again."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from cli import options, output, report, request
from patterns.errors import MachineError, PatternError, Problem

if TYPE_CHECKING:
    from tiling.recipe import Recipe

EPILOG = """\
The files come out byte for byte as they went in. Nothing of the PDF has to be
unpacked to change a piece: 'check', 'sheets', 'reprint' and the others take the
PDF itself. Unpack it to read or to edit the pattern file.

example:  curvewright unpack cradle.pdf -o cradle"""


def describe(parser: argparse.ArgumentParser) -> None:
    """SHEETS.pdf, -o, --replace, --json."""
    parser.add_argument("file", metavar="SHEETS.pdf", type=Path, help="a PDF made by 'curvewright sheets' or 'reprint'")
    parser.add_argument("-o", "--output", metavar="DIR", type=Path, required=True, help="the folder to write in")
    parser.add_argument("--replace", action="store_true", help="write over files of these names that differ")
    options.add_json(parser)
    parser.epilog = EPILOG


def run(arguments: argparse.Namespace) -> None:
    """Writes the files and says what they are."""
    from tiling.carried import files_of

    carried = request.read_pdf(arguments.file)
    folder: Path = arguments.output
    files = {folder / name: data for name, data in files_of(carried).items()}
    if not arguments.replace:
        _check_former(files)
    output.write_files(files, make_folder=folder)
    if arguments.json:
        report.print_json(_json(files, carried))
    else:
        print("\n".join(_told(files, carried)))


def _check_former(files: Mapping[Path, bytes]) -> None:
    """Raises PatternError for files that are there already and hold something else."""
    differing = [path for path, data in files.items() if path.is_file() and _differs(path, data)]
    if differing:
        what = "is there already and differs; name another folder, or add --replace to write over it"
        raise PatternError([Problem("", f"{path} {what}") for path in differing])


def _differs(path: Path, data: bytes) -> bool:
    try:
        return path.stat().st_size != len(data) or path.read_bytes() != data
    except OSError as error:
        raise MachineError(f"{path}: can't be read: {error.strerror}") from error


def _json(files: Iterable[Path], carried: Recipe) -> dict[str, object]:
    return {
        "files": [str(path) for path in files],
        "title": carried.title,
        "sizes": dict(carried.given),
        "parts": list(carried.only),
        "halves": list(carried.halves),
        "member": carried.member,
    }


def _told(files: Iterable[Path], carried: Recipe) -> list[str]:
    """What was written, and what stood on the command line beside it when the sheets were printed."""
    pattern_file, *shop_file = files
    whom = f", for {carried.member}" if carried.member else ""
    lines = [f"{pattern_file}: the pattern file of {carried.title}{whom}"]
    lines += [f"{path}: the shop file" for path in shop_file]
    given = [f"--size {shlex.quote(f'{name}={value}')}" for name, value in carried.given.items()]
    given += [f"--part {shlex.quote(name)}" for name in carried.only]
    given += [f"--half {shlex.quote(name)}" for name in carried.halves]
    if given:
        lines += report.paragraph(f"The sheets were printed with: {' '.join(given)}")
    return lines
