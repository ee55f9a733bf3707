"""``packet --roster``: a packet for each member of a class and a summary for the teacher, all written together or none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from cli import report
from cli.packets import former, members, roster, summary
from cli.packets.members import Made, Unmade
from patterns.errors import PatternError, Problem

if TYPE_CHECKING:
    from cli.request import Job
    from tiling.order import Progress

SUMMARIES = SUMMARY, SUMMARY_HTML, SUMMARY_JSON = "summary.txt", "summary.html", "summary.json"


class Handout(Struct, frozen=True):
    """What a class is handed: every file by its name, and what was made and left out."""

    files: Mapping[str, bytes]
    made: tuple[Made, ...]
    left_out: tuple[Problem, ...]


def handout(
    job: Job, path: Path, papers: Sequence[str], skip_bad: bool, progress: Progress, folder: Path | None = None
) -> Handout:
    """Makes all packets of the roster at ``path``; before that it looks whether anything else stands in ``folder``.

    Raises PatternError with every mistake of every row, unless ``skip_bad`` leaves those rows out and others are left.
    What shows only when a packet is drawn is told once all others are.
    """
    found = roster.read(path, [size.name for size in job.piece.sizes], job.piece.units)
    whole = members.class_of(job, papers)
    unmade = members.problems_of(whole, found.rows)
    problems = [*found.problems, *(problem for row in unmade.values() for problem in row)]
    rows = [row for row in found.rows if row not in unmade]
    _check(found.name, problems, bool(rows), skip_bad)
    if folder is not None:
        check_former(folder, [*(f"{row.slug}.zip" for row in rows), *SUMMARIES], job.piece.title)
    results = members.packets(whole, rows, progress)
    made = tuple(one for one in results if isinstance(one, Made))
    problems += [problem for one in results if isinstance(one, Unmade) for problem in one.problems]
    _check(found.name, problems, bool(made), skip_bad)
    left_out = tuple(_ordered(problems))
    return Handout({**{one.file: one.data for one in made}, **_summaries(job, made, left_out)}, made, left_out)


def _check(name: str, problems: Sequence[Problem], has_rows: bool, skip_bad: bool) -> None:
    """Raises PatternError with all problems, if there are any, unless their rows may be left out and others are left."""
    if problems and not (skip_bad and has_rows):
        remedy = "mend the rows, or add --skip-bad to leave them out" if has_rows else "no row is left"
        raise PatternError([*_ordered(problems), Problem("", f"nothing is written: {remedy}")], name)


def _summaries(job: Job, made: Sequence[Made], left_out: Sequence[Problem]) -> dict[str, bytes]:
    told = summary.of_class(job, made, left_out)
    data = report.json_text(summary.as_json(job.piece.title, made, left_out)) + "\n"
    return {SUMMARY: summary.text(told).encode(), SUMMARY_HTML: summary.html(told), SUMMARY_JSON: data.encode("ascii")}


def others_in(folder: Path, files: Sequence[str], title: str) -> list[str]:
    """The names of packets of this piece in the folder that are none of this class: of someone who is no longer in it."""
    found = sorted(path for path in folder.glob("*.zip") if path.name not in files)
    return [path.name for path in found[:1000] if path.is_file() and former.title_of(path) == title]


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
