"""Half patterns: which parts are asked for as halves, and how wide their flip strips are."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from cli.request import Job
from patterns.errors import PatternError, Problem
from patterns.wording import quoted, rather

if TYPE_CHECKING:
    from tiling.form import SheetForm
    from tiling.recipe import Recipe

EVERY = ""
"""What stands for ``--half`` without a name."""
NO_LONGER = "the old sheets are those of a half pattern; print the whole with 'curvewright sheets', without --half"


def add_option(parser: argparse.ArgumentParser) -> None:
    """--half [NAME], as often as wanted."""
    parser.add_argument(
        "--half",
        metavar="PART",
        nargs="?",
        const=EVERY,
        type=_name,
        action="append",
        default=[],
        help="only half of this part, as far as its centre line, to be drawn round, turned over and drawn round again; "
        "may be given several times (every part if none is named)",
    )


def _name(text: str) -> str:
    if Path(text).suffix.lower() in (".toml", ".pdf"):
        hint = "give FILE first and --half after it, with or without a part's name"
        raise argparse.ArgumentTypeError(f"{quoted(text)} is a file, not a part; {hint}")
    return text


def halved(job: Job, asked: Sequence[str], former: Recipe | None = None) -> Job:
    """The job with the parts asked for as halves; where none is, those that are halves on sheets printed before.

    Raises PatternError, with every reason, where a part is not symmetrical or not in the job.
    """
    names = [part.name for part in job.parts]
    unknown = [name for name in asked if name and name not in names]
    if unknown:
        problems = [Problem("--half", f"prints no part {quoted(name)}; {rather(name, names)}") for name in unknown]
        raise PatternError(problems, job.source.name)
    wanted = names if EVERY in asked else asked or tuple(former.halves if former is not None else ())
    chosen = tuple(name for name in names if name in wanted)
    if not chosen:
        return job
    result = replace(job, halves=chosen)
    try:
        result.drawn({})
    except PatternError as error:
        remedy = _remedy(job, chosen) if asked else Problem("", NO_LONGER)
        raise PatternError([*error.problems, remedy], job.source.name) from error
    return result


def _remedy(job: Job, chosen: Sequence[str]) -> Problem:
    """What can be printed as halves instead."""
    able = [name for name in chosen if _has_half(job, name)]
    if not able:
        return Problem("--half", "print whole patterns: leave it out")
    words = " ".join(f"--half {shlex.quote(name)}" for name in able)
    return Problem("--half", f"name the parts that are their own mirror images: {words}; the others come out whole")


def _has_half(job: Job, name: str) -> bool:
    try:
        replace(job, halves=(name,)).drawn({})
    except PatternError:
        return False
    return True


def strips(job: Job, former: Recipe | None, form: SheetForm | None) -> dict[str, float]:
    """How wide the flip strip of each half is (mm): as on the sheets before, else as wide as it can be on the paper."""
    if not job.halves:
        return {}
    from patterns.half import STRIP_MM  # late: few ask for halves
    from tiling.halves import strip_for

    known = dict(former.halves) if former is not None else {}
    found = {}
    for name in job.halves:
        wholes = [pattern for pattern in job.wholes if pattern.part == name]
        new = strip_for(wholes, job.display, form) if form is not None and name not in known else STRIP_MM
        found[name] = known.get(name, new)
    return found
