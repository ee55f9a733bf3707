"""What is lost when a file is written over: it may be a stranger's, or the only record of sheets that are on a bench."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from cli import request
from patterns.errors import MachineError, PatternError, Problem
from patterns.wording import quoted

if TYPE_CHECKING:
    from tiling.job import Printed
    from tiling.recipe import Recipe

REMEDY = "name another file, or add --replace to write over it"

CUT_LINE = b'<path class="cut"'
"""How the cut line of our drawings begins; it stands within the first ``BEGINNING_BYTES`` of the file."""

NEW_LINE = b'<g class="new-line"'
"""The same of our pictures of two versions."""

BEGINNING_BYTES = 100_000


def add_option(parser: argparse.ArgumentParser, what: str) -> None:
    """--replace."""
    parser.add_argument("--replace", action="store_true", help=f"write over {what}")


def read_former(path: Path, title: str, replace: bool) -> Recipe | None:
    """The record of the PDF at ``path``, which sheets of the piece ``title`` may replace; None where there is none.

    Raises PatternError where it was not made by us or holds another piece, unless ``replace`` says that it may go.
    """
    if replace or not path.is_file() or not path.stat().st_size:
        return None
    try:
        former = request.read_pdf(path)
    except PatternError as error:
        raise PatternError.of("", f"{path} is there already and {error.problems[0].what}; {REMEDY}") from error
    if former.title != title:
        held = f"{path} is there already and holds sheets of {quoted(former.title)}, not of {quoted(title)}"
        raise PatternError.of("", f"{held}; {REMEDY}")
    return former


def check_drawings(paths: Iterable[Path], replace: bool, command: str = "patterns", mark: bytes = CUT_LINE) -> None:
    """Raises PatternError for SVG files, and others of the same pattern, that are there already and were not drawn by
    ``command``.

    ``mark`` is how a line begins that every drawing of this command has.
    """
    there = [] if replace else [path for path in paths if path.is_file()]
    strangers = [path for path in there if not _is_ours(path.with_name(path.name.split(".")[0] + ".svg"), mark)]
    if strangers:
        what = f"is there already and was not made by 'curvewright {command}'; name another folder, or add --replace"
        raise PatternError([Problem("", f"{path} {what} to write over it") for path in strangers])


def _is_ours(drawing: Path, mark: bytes) -> bool:
    """Whether an SVG file was drawn by us; a picture is ours if its drawing is."""
    try:
        with drawing.open("rb") as stream:
            beginning = stream.read(BEGINNING_BYTES)
    except FileNotFoundError:
        return False
    except OSError as error:
        raise MachineError(f"{drawing}: can't be read: {error.strerror}") from error
    return not beginning or mark in beginning


def note(path: Path, former: Recipe | None, printed: Printed) -> list[str]:
    """What is to be said before ``printed`` takes the place of ``former``: nothing, where each old sheet is in it."""
    now = {digest for record in printed.recipe.patterns for digest in record.sheets.values()}
    held = {digest for record in former.patterns for digest in record.sheets.values()} if former else set()
    differing = len(held - now)
    if not differing:
        return []
    return [
        f"note: the older {path} is replaced, and {differing} of its {len(held)} sheets differ from these; where those are "
        "on your bench, name another file the next time, keep the older PDF and use 'curvewright reprint'"
    ]
