"""The words of a pattern on its left or lower half: those about what is drawn, kept clear of the flip line."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

from msgspec.structs import replace

from patterns.pattern import Label, Pattern, Role, Stroke
from patterns.sketch import Place, Sketch, readable, ring, text_width
from patterns.symmetry import ALIKE_MM, CentreLine

AIR_MM = 2.5
"""Words keep so far from the flip line."""
FURTHER_MM = (4.0, 8.0, 12.0, 18.0, 26.0)

NOTE_STROKES = 2
"""A note is drawn with a small slanting cross; a line that is marked is one stroke."""

_BLANK_NOTE = "blank.note"
_ANEW = ("dimension", "grain")


def draw_labels(sketch: Sketch, pattern: Pattern, line: CentreLine) -> None:
    """Draws them; what names something of which only the other half had room for words comes over to this one."""
    over_here = brought_over(pattern, line)
    for label in pattern.labels:
        over = label.key.removesuffix(".text") in over_here
        if label.key.startswith(_ANEW) or not (over or _belongs(label, pattern, line)):
            continue
        label = _both_halves(label, pattern, line)
        off = _reach(label, line)
        at = label.at[line.axis]
        if at + off <= line.at - AIR_MM:
            places: list[Place] = [(label.at, label.angle)]
        elif label.key.startswith(_BLANK_NOTE):
            continue
        elif at - off >= line.at:
            places = [(line.over.point(*label.at), readable((math.cos(label.angle), -math.sin(label.angle))))]
        else:
            places = []
        places += _moved_over(places[0] if places else (label.at, label.angle), line, off)
        sketch.label(label.key, label.text, places, not label.key.startswith(_BLANK_NOTE), label.height)


def brought_over(pattern: Pattern, line: CentreLine) -> frozenset[str]:
    """The keys of notes beyond the line that have no twin before it: they name a line that the half shows too."""
    texts = {label.key.removesuffix(".text"): label.text for label in pattern.labels if label.key.startswith("mark")}
    marks = [stroke for stroke in pattern.strokes if stroke.role is Role.MARK and stroke.key in texts]
    count = Counter(stroke.key for stroke in marks)
    notes = {stroke.key: _middle(stroke, line) for stroke in marks if count[stroke.key] == NOTE_STROKES}
    here = {texts[key] for key, at in notes.items() if at <= line.at + ALIKE_MM}
    return frozenset(key for key, at in notes.items() if at > line.at + ALIKE_MM and texts[key] not in here)


def _moved_over(place: Place, line: CentreLine, off: float) -> list[Place]:
    """The place set just before the flip line where it crosses it, and places around that."""
    (x, y), angle = place
    at = [x, y]
    at[line.axis] = min(at[line.axis], line.at - AIR_MM - off)
    near = ring((at[0], at[1]), angle, FURTHER_MM)
    return [each for each in near if each[0][line.axis] + off <= line.at - AIR_MM + ALIKE_MM]


def _reach(label: Label, line: CentreLine) -> float:
    """How far the label's box reaches from its middle, across the line (mm)."""
    cos, sin = abs(math.cos(label.angle)), abs(math.sin(label.angle))
    width = text_width(label.text, label.height)
    return (width * sin + label.height * cos) / 2 if line.axis else (width * cos + label.height * sin) / 2


def _belongs(label: Label, pattern: Pattern, line: CentreLine) -> bool:
    """Whether the label speaks of something that the half shows; one of nothing that is drawn goes by its own place."""
    owners = _owners(label.key, pattern.strokes)
    if not owners:
        twins = [other for other in pattern.labels if other.text == label.text and other is not label]
        here = label.at[line.axis] - line.at
        return here <= 0.0 or all(other.at[line.axis] > line.at for other in twins)
    return any(_middle(stroke, line) <= line.at + ALIKE_MM for stroke in owners)


def _owners(key: str, strokes: Sequence[Stroke]) -> list[Stroke]:
    """The strokes that a label is about: of its own key, else of the key that its own begins with.

    An edge's words are about all its stretches, also the reflected ones; a hole and its reflection have their own.
    """
    exact = [stroke for stroke in strokes if stroke.key == key]
    if exact or "." not in key:
        return exact
    base = key.rpartition(".")[0]
    after = ("", ".") if base.startswith("hole") else ("", ".", "/", "[")
    return [s for s in strokes if s.key.startswith(base) and s.key[len(base) :][:1] in after]


def _middle(stroke: Stroke, line: CentreLine) -> float:
    return (stroke.curve.bounds[line.axis] + stroke.curve.bounds[line.axis + 2]) / 2


def _both_halves(label: Label, pattern: Pattern, line: CentreLine) -> Label:
    """A glue line's length is that of the whole, also where half of it is drawn."""
    if not label.key.startswith("glue"):
        return label
    for stroke in _owners(label.key, pattern.strokes):
        low, high = stroke.curve.bounds[line.axis], stroke.curve.bounds[line.axis + 2]
        if low < line.at - ALIKE_MM and high > line.at + ALIKE_MM:
            return replace(label, text=f"{label.text} in all")
    return label
