"""The options that several commands share, each worded once."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from patterns.errors import PatternError
from patterns.measure import Units
from patterns.wording import is_unprintable, quoted

LONGEST_NAME = 60
"""Letters of a member's name."""

FILE_HELP = "a pattern file, or a PDF made by 'curvewright sheets'"


def add_file(parser: argparse.ArgumentParser) -> None:
    """FILE: the pattern file or a PDF that carries one."""
    parser.add_argument("file", metavar="FILE", type=Path, help=FILE_HELP)


def add_sizes(parser: argparse.ArgumentParser) -> None:
    """--size NAME=VALUE, as often as wanted."""
    parser.add_argument(
        "--size",
        metavar="NAME=VALUE",
        type=_size,
        action="append",
        default=[],
        help="use this value for a size of the file, such as --size 'arch_rise=2 1/4'; may be given several times",
    )


def add_parts(parser: argparse.ArgumentParser) -> None:
    """--part NAME, as often as wanted."""
    parser.add_argument(
        "--part",
        metavar="NAME",
        action="append",
        default=[],
        help="only this part; may be given several times (all parts if left out)",
    )


def add_shop(parser: argparse.ArgumentParser) -> None:
    """--shop PATH."""
    parser.add_argument(
        "--shop",
        metavar="PATH",
        type=Path,
        help="the shop file to use instead of the one where this platform keeps settings",
    )


def add_printer(parser: argparse.ArgumentParser, otherwise: str) -> None:
    """--printer NAME."""
    parser.add_argument(
        "--printer",
        metavar="NAME",
        help="draw the sheets so that they come out of this printer true, as it was measured ('curvewright printer'); "
        f"'none' corrects nothing; {otherwise}",
    )


def add_member(parser: argparse.ArgumentParser) -> None:
    """--member NAME."""
    parser.add_argument(
        "--member",
        metavar="NAME",
        type=member_name,
        help="whom of a class the sheets are for: the name stands on the cover and on every sheet",
    )


def member_name(text: str) -> str:
    """A name as it is printed: on one line, and not so long that it runs off a sheet. Raises argparse's error."""
    name = " ".join(text.split())
    if any(is_unprintable(c) for c in name):
        raise argparse.ArgumentTypeError(f"{quoted(text)} holds a character that can't be printed")
    if len(name) > LONGEST_NAME:
        raise argparse.ArgumentTypeError(f"{quoted(name)} is longer than {LONGEST_NAME} letters")
    return name


def add_json(parser: argparse.ArgumentParser) -> None:
    """--json."""
    parser.add_argument("--json", action="store_true", help="JSON on standard output, in millimetres and degrees")


def sizes_given(pairs: Sequence[tuple[str, str]]) -> dict[str, str]:
    """The sizes given on the command line by name. Raises PatternError where one is given twice."""
    given: dict[str, str] = {}
    for name, value in pairs:
        if name in given and given[name] != value:
            raise PatternError.of(f"--size {name}", f"given twice, as {given[name]} and as {value}; give it once")
        given[name] = value
    return given


def length(option: str, text: str | None, units: Units) -> float | None:
    """A length given with an option, in mm; a bare number is in the file's unit. Raises PatternError with the option."""
    if text is None:
        return None
    from patterns import formula  # late: few command lines hold a length

    try:
        return formula.evaluate(text, wanted="length", units=units, names={}).value
    except formula.FormulaError as error:
        raise PatternError.of(option, str(error)) from error


def _size(text: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals or not name.strip() or not value.strip():
        raise argparse.ArgumentTypeError(f"'{text}' is not NAME=VALUE, such as 'arch_rise=2 1/4'")
    return name.strip(), value.strip()
