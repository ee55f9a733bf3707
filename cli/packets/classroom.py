"""``packet --roster``: a packet for each member of a class and a summary for the teacher, all written together or none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from cli import report
from cli.packets import former, members, roster, summary
from cli.packets.members import Made
from patterns.errors import PatternError, Problem

if TYPE_CHECKING:
    from cli.request import Job
    from tiling.order import Progress

SUMMARY, SUMMARY_JSON = "summary.txt", "summary.json"


class Handout(Struct, frozen=True):
    """What a class is handed: every file by its name, and what was made and left out."""

    files: Mapping[str, bytes]
    made: tuple[Made, ...]
    left_out: tuple[Problem, ...]


def handout(job: Job, path: Path, papers: Sequence[str], skip_bad: bool, progress: Progress) -> Handout:
    """Makes all packets of the roster at ``path``.

    Raises PatternError with every mistake of every row, unless ``skip_bad`` leaves those rows out and others are left.
    """
    found = roster.read(path, [size.name for size in job.piece.sizes], job.piece.units)
    whole = members.class_of(job, papers)
    unmade = members.problems_of(whole, found.rows)
    problems = (*found.problems, *(problem for row in unmade.values() for problem in row))
    rows = [row for row in found.rows if row not in unmade]
    if problems and not (skip_bad and rows):
        remedy = "mend the rows, or add --skip-bad to leave them out" if rows else "no row is left"
        raise PatternError([*_ordered(problems), Problem("", f"nothing is written: {remedy}")], found.name)
    made = tuple(members.packets(whole, rows, progress))
    left_out = tuple(_ordered(problems))
    files = {one.file: one.data for one in made}
    title = job.piece.title
    files[SUMMARY] = summary.text(title, made, left_out, job.display).encode("utf-8")
    files[SUMMARY_JSON] = (report.json_text(summary.as_json(title, made, left_out)) + "\n").encode("ascii")
    return Handout(files, made, left_out)


def check_former(folder: Path, files: Sequence[str], title: str) -> None:
    """Raises PatternError for files that are there already and are no packets of this piece, nor a summary of its class."""
    problems: list[Problem] = []
    for name in files:
        path = folder / name
        try:
            if name.endswith(".zip"):
                former.check(path, title)
            elif path.is_file() and not _is_summary(path.with_name(SUMMARY), title):
                problems.append(
                    Problem("", f"{path} is there already and is no summary of this class; {former.REMEDY}")
                )
        except PatternError as error:
            problems += error.problems
    if problems:
        raise PatternError(problems)


def _is_summary(path: Path, title: str) -> bool:
    try:
        with path.open("rb") as stream:
            return stream.read(4096).startswith(f"{title}: a class of ".encode())
    except OSError:
        return False


def _ordered(problems: Sequence[Problem]) -> list[Problem]:
    """In the order of the lines that they are about."""
    return sorted(
        dict.fromkeys(problems), key=lambda one: int("".join(filter(str.isdigit, one.place.split("(")[0])) or 0)
    )
