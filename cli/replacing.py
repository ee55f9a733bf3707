"""What is lost when a file is written over: it may be a stranger's, or the only record of sheets that are on a bench."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from cli import ownfiles, request
from patterns.errors import PatternError, Problem
from patterns.wording import quoted

if TYPE_CHECKING:
    from tiling.job import Printed
    from tiling.recipe import Recipe

REMEDY = "name another file, or add --replace to write over it"
FOLDER_REMEDY = "name another folder, or add --replace to write over it"


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


def check_drawings(paths: Iterable[Path], replace: bool, command: str = "patterns") -> None:
    """Raises PatternError for files that are there already and are not as ``command`` drew them."""
    there = [] if replace else [path for path in paths if path.is_file()]
    states = [(path, ownfiles.state(path, command)) for path in there]
    why = {"another's": "was not made by", "changed": "was changed since it was made by"}
    problems = [
        Problem("", f"{path} is there already and {why[state]} 'curvewright {command}'; {FOLDER_REMEDY}")
        for path, state in states
        if state != "ours"
    ]
    if problems:
        raise PatternError(problems)


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
