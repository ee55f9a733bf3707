"""What a save changed: sizes, old and new, and the sheets that are now other than they were."""

from __future__ import annotations

from cli import report
from cli.request import Job
from patterns.display import Display
from patterns.piece import Size
from tiling.fates import digests_of
from tiling.job import Printed

INDENT = 10
"""Columns in front of each line: for the time of day."""


def told(old: Job, before: Printed, new: Job, now: Printed) -> list[str]:
    """A line for the sizes that changed, and one for each pattern that has other sheets."""
    sizes, sheets = size_changes(old, new), sheet_changes(before, now)
    if not sizes and not sheets:
        return ["saved; no sheet differs from the save before"]
    lines = report.fold(", ".join(sizes), report.page_width() - INDENT) or ["saved; every size is as it was"]
    if not sheets:
        return [*lines, "no sheet differs from the save before"]
    named = "; ".join(f"{name}: {', '.join(labels)}" for name, labels in sheets.items())
    return [*lines, *report.fold(f"other sheets than before: {named}", report.page_width() - INDENT)]


def size_changes(old: Job, new: Job) -> list[str]:
    """Each size that has another value, is new or is gone."""
    before = {size.name: size for size in old.piece.sizes}
    found = []
    for size in new.piece.sizes:
        earlier = before.pop(size.name, None)
        if earlier is None:
            found.append(f"{size.name} {_figure(size, new.display)}, new")
        elif (earlier.value, earlier.kind) != (size.value, size.kind):
            found.append(f"{size.name} {_figure(earlier, old.display)} -> {_figure(size, new.display)}")
    return found + [f"{name}, gone" for name in before]


def _figure(size: Size, display: Display) -> str:
    if size.kind == "number":
        return f"{size.value:g}"
    return display.angle(size.value) if size.kind == "angle" else display.length(size.value)


def sheet_changes(before: Printed, now: Printed) -> dict[str, list[str]]:
    """By pattern, the names of the sheets that are other than they were, new, or gone."""
    earlier = {record.slug: (record.name, digests_of(record)) for record in before.recipe.patterns}
    found: dict[str, list[str]] = {}
    for record in now.recipe.patterns:
        _, old = earlier.pop(record.slug, ("", {}))
        new = digests_of(record)
        differing = [name for name in (*new, *(old.keys() - new.keys())) if old.get(name) != new.get(name)]
        if differing:
            found[record.name] = differing
    return found | {name: list(old) for name, old in earlier.values()}
