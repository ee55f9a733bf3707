"""Where the block of words that names a drawing goes: inside the outline, so that it survives the scissors."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

import numpy as np

from patterns.freespace import FreeSpace, Point
from patterns.lettering import shape
from patterns.outline import Outline
from patterns.pattern import Label, Pattern

HEIGHTS_MM = (5.0, 4.0, 3.5, 3.0, 2.5)
"""Heights of a capital that are tried, the largest first."""
LEADING = 1.75
"""From one line to the next, in heights of a capital."""
GRID = 24
"""Places tried along the outline's box, either way."""
EDGE_MM = 2.0
"""From the block to the outline at least."""
UNDER_MM = 5.0
"""From the drawing to a block that finds no room inside the outline."""
NOTE_LETTERS = 44
"""Notes are broken into lines of at most so many letters."""


def block_labels(pattern: Pattern) -> tuple[Label, ...]:
    """The title block and the notes as labels: inside the outline in the largest size that fits, else under it."""
    space = FreeSpace()
    for stroke in pattern.strokes:
        space.take(stroke.curve)
    for label in pattern.labels:
        space.take_box(label.at, shape(label.text, label.height).width, label.height, label.angle)
    labels: list[Label] = []
    below = pattern.bounds[1]
    for key, lines in (("title", pattern.title_block), ("note", _wrapped(pattern.notes))):
        if not lines:
            continue
        found = _inside(pattern.outline, space, lines, HEIGHTS_MM if key == "title" else HEIGHTS_MM[2:])
        if found is None:
            _, tall = size = _size(lines, HEIGHTS_MM[2])
            at = ((pattern.bounds[0] + pattern.bounds[2]) / 2, below - tall / 2 - UNDER_MM)
            below -= tall + UNDER_MM
            found = lines, at, HEIGHTS_MM[2], size
        shaped, at, height, (width, tall) = found
        space.take_box(at, width, tall, 0.0)
        labels += _labels(key, shaped, at, height)
    return tuple(labels)


def _inside(
    outline: Outline, space: FreeSpace, lines: Sequence[str], heights: Sequence[float]
) -> tuple[Sequence[str], Point, float, tuple[float, float]] | None:
    """The lines as shaped, their middle, height and size, for the largest block that fits inside the outline."""
    for height in heights:
        for shaped in _shapes(lines):
            size = _size(shaped, height)
            at = _place(outline, space, *size)
            if at is not None:
                return shaped, at, height, size
    return None


def _wrapped(notes: Sequence[str]) -> tuple[str, ...]:
    return tuple(line for note in notes for line in textwrap.wrap(note, NOTE_LETTERS))


def _shapes(lines: Sequence[str]) -> list[tuple[str, ...]]:
    """The lines as they are, two by two, and all in one."""
    by_two = tuple(" · ".join(lines[k : k + 2]) for k in range(0, len(lines), 2))
    by_three = tuple(" · ".join(lines[k : k + 3]) for k in range(0, len(lines), 3))
    return [tuple(lines), by_two, by_three]


def _size(lines: Sequence[str], height: float) -> tuple[float, float]:
    return max(shape(line, height).width for line in lines), len(lines) * height * LEADING


def _place(outline: Outline, space: FreeSpace, width: float, tall: float) -> Point | None:
    """The middle of a free box inside the outline, as near its centre of area as there is room."""
    x0, y0, x1, y1 = outline.bounds
    if x1 - x0 < width or y1 - y0 < tall:
        return None
    xs = np.linspace(x0 + width / 2, x1 - width / 2, GRID)
    ys = np.linspace(y0 + tall / 2, y1 - tall / 2, GRID)
    centres = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    middle = np.array(outline.centroid)
    centres = centres[np.argsort(np.hypot(*(centres - middle).T), kind="stable")]
    for centre in centres[outline.contains(centres)]:
        at = (float(centre[0]), float(centre[1]))
        if not space.covered(at, width + 2 * EDGE_MM, tall + 2 * EDGE_MM):
            return at
    return None


def _labels(key: str, lines: Sequence[str], at: Point, height: float) -> tuple[Label, ...]:
    top = at[1] + (len(lines) - 1) / 2 * height * LEADING
    return tuple(
        Label(f"{key}[{k}]", line, (at[0], top - k * height * LEADING), height) for k, line in enumerate(lines)
    )
