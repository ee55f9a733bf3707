"""What is told of a reprint: how much to print, a table and pictures of what to print, keep and throw away, and JSON."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cli import gridpicture, printing, report
from cli.request import Job
from tiling import fates
from tiling.job import Printed
from tiling.lattice import cell_of
from tiling.recipe import Recipe

STATES = fates.STATES

LEAST_RUN = 4
"""So many sheets in a row are named by the first and the last."""
LIST_INDENT = 14
"""Columns in front of a list of sheets."""

DRY_RUN = "dry run, nothing written"


def told(target: str, printed: Printed) -> list[str]:
    """What ``target`` holds, and for each pattern the sheets to print, to keep and to throw away."""
    lines = [f"{target}: {_in_full(printed)}", *printing.corrected(printed)]
    lines += listed(printed.fates)
    lines += gridpicture.pictures(printed.fates, report.page_width())
    return lines + _fresh(printed)


def in_brief(printed: Printed) -> str:
    """How many sheets to print and how many stay."""
    count, kept = len(printed.sheets), fates.count(printed.fates, "keep")
    if not count:
        return "nothing differs; every old sheet stays, and only the cover is new"
    stay = "1 sheet stays as it is" if kept == 1 else f"{kept} sheets stay as they are"
    return f"{printing.sheets(count)} to print; {stay}"


def _in_full(printed: Printed) -> str:
    """The same with the paper, and with the cover."""
    if not printed.sheets:
        return in_brief(printed)
    paper = printed.form.paper
    on = f"off a {paper.name} wide" if paper.roll else f"on {paper.name}"
    to_print, stay = in_brief(printed).split("; ")
    return f"{to_print} {on}, as the old sheets, and {printing.covers(printed)}; {stay}"


def _fresh(printed: Printed) -> list[str]:
    """What printing everything anew would take, which tells when a grid that was kept has become wasteful."""
    if printed.fresh_count is None or not printed.sheets:
        return []
    return ["", f"Laid out afresh, all of it would take {printing.sheets(printed.fresh_count)}."]


def listed(found: Sequence[fates.SheetFate]) -> list[str]:
    """The sheets by name: a table where it fits the page, else a list for each pattern."""
    width = report.page_width()
    names = dict.fromkeys(fate.pattern for fate in found)
    rows = [(name, *(_in_runs(_named(found, name, state)) for state in STATES)) for name in names]
    lines = report.table(("pattern", *STATES.values()), rows)
    if all(report.columns_of(line) <= width for line in lines):
        return lines
    lines = []
    for name, *cells in rows:
        lines.append(name)
        for word, cell in zip(STATES.values(), cells, strict=True):
            folded = report.fold(cell, width - LIST_INDENT)
            lines += [f"  {word if k == 0 else '':{LIST_INDENT - 2}}{part}" for k, part in enumerate(folded)]
    return lines


def _named(found: Sequence[fates.SheetFate], pattern: str, state: str) -> list[str]:
    return [fate.name for fate in found if (fate.pattern, fate.state) == (pattern, state)]


def _in_runs(names: Sequence[str]) -> str:
    """Names of sheets, four and more side by side as "A1 to A4"."""
    runs: list[list[str]] = []
    for name in names:
        if runs and _follows(runs[-1][-1], name):
            runs[-1].append(name)
        else:
            runs.append([name])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) >= LEAST_RUN else ", ".join(run) for run in runs)


def _follows(before: str, name: str) -> bool:
    """Whether a sheet lies at the right of another."""
    try:
        (c, r), (column, row) = cell_of(before), cell_of(name)
    except ValueError:  # a sheet that several patterns share
        return False
    return (column, row) == (c + 1, r)


def as_json(printed: Printed) -> dict[str, Any]:
    """The contract of ``sheets --json``, the fate of every sheet, old and new, and how many a fresh layout would take."""
    return {**printed.to_json(), "fates": fates_json(printed.fates), "fresh_sheet_count": printed.fresh_count}


def fates_json(found: Sequence[fates.SheetFate]) -> list[dict[str, str]]:
    """The fate of every sheet, old and new."""
    return [{"pattern": one.pattern, "label": one.name, "fate": STATES[one.state]} for one in found]


def sizes_no_longer_given(old: Recipe, job: Job) -> list[str]:
    """Says so where the old sheets were made with sizes from the command line that were not given this time."""
    return [
        f"note: the old sheets were made with --size '{name}={value}'; these take the file's own {name}"
        for name, value in old.given.items()
        if name not in job.given
    ]
