"""``curvewright unpack FILE -o DIR``: the pattern file and the shop file that sheets or a packet carry, written out."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from cli import options, output, report, request
from patterns.errors import MachineError, PatternError, Problem
from patterns.filetext import NamedText, decoded, parse
from patterns.wording import quoted

if TYPE_CHECKING:
    from patterns.routerguide import Template

EPILOG = """\
The files come out byte for byte as they went in. Nothing of a PDF has to be
unpacked to change a piece: 'check', 'sheets', 'reprint' and the others take the
PDF itself. Unpack it to read or to edit the pattern file. Of a packet, too, only
the pattern file and the shop file are written; any unzip unpacks all of it.

example:  curvewright unpack cradle.pdf -o cradle"""


def describe(parser: argparse.ArgumentParser) -> None:
    """FILE, -o, --replace, --json."""
    help_text = "a PDF made by 'curvewright sheets' or 'reprint', or a packet made by 'curvewright packet'"
    parser.add_argument("file", metavar="FILE", type=Path, help=help_text)
    parser.add_argument("-o", "--output", metavar="DIR", type=Path, required=True, help="the folder to write in")
    parser.add_argument("--replace", action="store_true", help="write over files of these names that differ")
    options.add_json(parser)
    parser.epilog = EPILOG


def run(arguments: argparse.Namespace) -> None:
    """Writes the files and says what they are."""
    carried = _of_packet(arguments.file) if _is_packet(arguments.file) else _of_sheets(arguments.file)
    _check_pattern(carried, arguments.file.name)
    folder: Path = arguments.output
    files = {folder / name: data for name, data in carried.files.items()}
    if not arguments.replace:
        _check_former(files)
    output.write_files(files, make_folder=folder)
    if arguments.json:
        report.print_json(_json(files, carried))
    else:
        print("\n".join(_told(files, carried)))


class Carried(Struct, frozen=True):
    """What sheets or a packet carry: the pattern file first, then the shop file if there is one, and what stood beside
    them on the command line."""

    files: Mapping[str, bytes]
    title: str
    given: Mapping[str, str]
    only: Sequence[str]
    halves: Sequence[str]
    member: str
    templates: tuple[Template, ...] = ()


def _of_sheets(path: Path) -> Carried:
    from tiling.carried import files_of

    found = request.read_pdf(path)
    return Carried(
        files_of(found), found.title, found.given, found.only, tuple(found.halves), found.member, found.templates
    )


def _of_packet(path: Path) -> Carried:
    """Raises PatternError, with every reason, where the packet is not whole."""
    from cli.packets.receipt import not_whole, receipt_of
    from tiling.carried import SHOP_FILE, pattern_file_name

    receipt = receipt_of(path)
    if not receipt.is_whole:
        raise not_whole(receipt, path)
    files = {pattern_file_name(receipt.pattern_file): receipt.text} | (
        {SHOP_FILE: receipt.shop} if receipt.shop else {}
    )
    return Carried(files, receipt.title, receipt.sizes, receipt.parts, receipt.halves, receipt.member)


def _check_pattern(carried: Carried, name: str) -> None:
    """Raises PatternError where what stands for the pattern file is none: a stranger may have put in anything."""
    inner, data = next(iter(carried.files.items()))
    try:
        table = parse(NamedText(decoded(data, inner), inner), "a pattern file begins with curvewright = 1")
    except PatternError as error:
        raise PatternError.of(
            "", f"carries {quoted(inner)}, which is no pattern file: {error.problems[0]}", name
        ) from error
    if "curvewright" not in table:
        raise PatternError.of("", f"carries {quoted(inner)}, which is no pattern file: it names no curvewright", name)


def _is_packet(path: Path) -> bool:
    try:
        with path.open("rb") as stream:
            return stream.read(2) == b"PK"
    except OSError:
        return False  # whoever reads it next says why


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


def _json(files: Iterable[Path], carried: Carried) -> dict[str, object]:
    return {
        "files": [str(path) for path in files],
        "title": carried.title,
        "sizes": dict(carried.given),
        "parts": list(carried.only),
        "halves": list(carried.halves),
        "templates": [{"part": one.part, "guide": one.guide.words, "around": one.around} for one in carried.templates],
        "member": carried.member,
    }


def _told(files: Iterable[Path], carried: Carried) -> list[str]:
    """What was written, and what stood on the command line beside it when the sheets were printed."""
    pattern_file, *shop_file = files
    whom = f", for {carried.member}" if carried.member else ""
    lines = [f"{pattern_file}: the pattern file of {carried.title}{whom}"]
    lines += [f"{path}: the shop file" for path in shop_file]
    given = [f"--size {shlex.quote(f'{name}={value}')}" for name, value in carried.given.items()]
    given += [f"--part {shlex.quote(name)}" for name in carried.only]
    given += [f"--half {shlex.quote(name)}" for name in carried.halves]
    given += [f"--template {shlex.quote(one.part)}" + " --around" * one.around for one in carried.templates]
    if given:
        lines += report.paragraph(f"The sheets were printed with: {' '.join(given)}")
    return lines
