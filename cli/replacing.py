"""What is lost when a PDF is written over: it may be a stranger's, or the only record of sheets that are on a bench."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from cli import request
from patterns.errors import PatternError
from patterns.wording import quoted

if TYPE_CHECKING:
    from tiling.job import Printed
    from tiling.recipe import Recipe

REMEDY = "name another file, or add --replace to write over it"


def add_option(parser: argparse.ArgumentParser) -> None:
    """--replace."""
    parser.add_argument("--replace", action="store_true", help="write over any PDF, also one that holds something else")


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


def note(path: Path, former: Recipe | None, printed: Printed) -> list[str]:
    """What is to be said before ``printed`` takes the place of ``former``: nothing, where each old sheet is in it."""
    now = {(record.slug, digest) for record in printed.recipe.patterns for digest in record.sheets.values()}
    held = [(record.slug, digest) for record in former.patterns for digest in record.sheets.values()] if former else []
    differing = sum(sheet not in now for sheet in held)
    if not differing:
        return []
    return [
        f"note: the older {path} is replaced, and {differing} of its {len(held)} sheets differ from these; "
        "to print only what changed, keep the older PDF and use 'curvewright reprint'"
    ]
