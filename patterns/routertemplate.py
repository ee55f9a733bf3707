"""The pattern of a router template: the line to cut it to, the true line beside it, and where the bit can't follow."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from patterns.curve import Curve
from patterns.display import Display
from patterns.errors import PatternError, Problem
from patterns.grainarrow import draw_grain
from patterns.hands import TURN_OVER
from patterns.pattern import Label, Pattern, Role, Stroke
from patterns.routerguide import Guide, Template
from patterns.routerreach import RouterLines, TightPlace, router_lines
from patterns.sketch import SMALL_MM, Place, Sketch, moved, readable, ring
from patterns.wording import quoted

__all__ = ["Guide", "Template", "template_of", "told"]

ROUND_PLACE_MM = (3.0, 6.0, 9.0, 13.0, 18.0, 25.0)
"""How far from a place its words may stand."""

CAUTION = (
    "Clamp the template to the wood and both to the bench. Several shallow passes, against the bit's rotation; no climb "
    "cut. The router's manual and current standards go first; not sure: ask a qualified teacher."
)
_KEPT_LABELS = ("dimension.", "mark[", "hole[")


def template_of(pattern: Pattern, guide: Guide, display: Display, around: bool = False) -> Pattern:
    """The pattern with its cut line moved by ``guide.distance`` into the template's body, the true line dashed.

    The body is the part itself: a bushing moves its outside inwards and its holes outwards. ``around`` it is what lies
    outside the part: a window, whose line a bushing moves outwards, for an opening or a recess of the part's shape; its
    holes have no line then. A bearing smaller than its bit moves all lines the other way. Raises PatternError where
    no template in one piece can be made.
    """
    template = Template(pattern.part, guide, around)
    lines = _lines(pattern, template)
    sketch = Sketch()
    for number, curve in enumerate(lines.template.curves):
        sketch.stroke(Role.CUT, curve, f"template.hole[{number - 1}]" if number else "template")
    for stroke in _kept_strokes(pattern, guide):
        sketch.stroke(stroke.role, stroke.curve, stroke.key)
    _draw_places(sketch, lines.places, display)
    for label in pattern.labels:
        if label.key.startswith(_KEPT_LABELS):
            _keep_label(sketch, label)
    _draw_line_words(sketch, pattern, guide)
    draw_grain(sketch, lines.template, lines.template.bounds, pattern.grain, "grain of the part")
    return replace(
        pattern,
        name=f"{pattern.name}, {template.name}",
        slug=f"{pattern.slug}--{template.name.replace(' ', '-')}",
        outline=lines.template,
        strokes=tuple(sketch.strokes),
        labels=tuple(sketch.labels),
        title_block=_title_block(pattern, template, display),
        notes=_notes(template, lines.places, display),
        joints=(),
        tight_places=tuple(place.at for place in lines.places),
    )


def told(pattern: Pattern, template: Template, display: Display) -> tuple[Problem, ...]:
    """Where the bit can't follow the true line of a whole pattern, as warnings. Raises PatternError as the drawing does."""
    lines = _lines(pattern, template)
    where = f"part {quoted(pattern.part)}, {template.name}"
    found = [Problem(where, f"at {_at(place, display)}: {_words(place, display)}") for place in lines.places]
    if template.around and pattern.outline.holes:
        found.append(Problem(where, "has no line for the part's holes: each would be an island of its own"))
    return tuple(found)


def _lines(pattern: Pattern, template: Template) -> RouterLines:
    try:
        return router_lines(pattern.outline, template.guide, template.around)
    except PatternError as error:
        where = f"part {quoted(pattern.part)}, {template.name}"
        raise PatternError([Problem(where, problem.what) for problem in error.problems]) from error


# -------------------------------------------------------------------- lines


def _kept_strokes(pattern: Pattern, guide: Guide) -> list[Stroke]:
    """The true line, dashed, and what is transferred to the wood or measured."""
    kept = []
    for stroke in pattern.strokes:
        if stroke.role is Role.CUT and guide.distance != 0.0:
            kept.append(Stroke(Role.HIDDEN, stroke.curve, f"true.{stroke.key}"))
        elif stroke.role in (Role.CENTRE, Role.DIMENSION) or stroke.key.startswith("mark["):
            kept.append(stroke)
    return kept


def _draw_places(sketch: Sketch, places: Sequence[TightPlace], display: Display) -> None:
    for number, place in enumerate(places):
        key = f"tight[{number}]"
        if place.cut is not None:
            sketch.stroke(Role.MARK, place.cut, f"{key}.cut")
        if place.kind != "hole":
            sketch.stroke(Role.MARK, Curve.circle(place.at, 1.5), key)
    for number, place in enumerate(places):
        words = _short(place, display)
        sketch.label(f"tight[{number}].text", words, ring(place.at, 0.0, ROUND_PLACE_MM)[1:], height=SMALL_MM)


def _keep_label(sketch: Sketch, label: Label) -> None:
    sketch.label(label.key, label.text, ring(label.at, label.angle, (4.0, 8.0, 12.0, 18.0, 26.0)), height=label.height)


def _draw_line_words(sketch: Sketch, pattern: Pattern, guide: Guide) -> None:
    if guide.distance == 0.0:
        return
    words = "dashed: true line of the part, do not cut"
    sketch.label("true.words", words, _beside(pattern.outline.boundary), needed=False, height=SMALL_MM)


def _beside(curve: Curve) -> list[Place]:
    """Places inside a line, along it."""
    found = []
    for distance in (12.0, 16.0, 22.0, 30.0):
        for share in (0.1, 0.6, 0.35, 0.85, 0.2, 0.7, 0.5, 0.95):
            t = share * len(curve)
            x, y = (float(each) for each in curve.tangent(t))
            found.append((moved(curve.point(t), (-y, x), distance), readable((x, y))))
    return found


# -------------------------------------------------------------------- words


def _title_block(pattern: Pattern, template: Template, display: Display) -> tuple[str, ...]:
    title, name, face, *others, date = pattern.title_block
    makes = next((k for k, line in enumerate(others) if line.startswith("make ")), len(others))
    hands = [*others[:makes], *(line for line in others[makes : makes + 2] if _is_of_hands(line))]
    return title, f"{name}, {template.name}", face, *hands, template.guide.words, _side(template, display), date


def _is_of_hands(line: str) -> bool:
    """Whether a line tells of the opposite hand: it holds for the template as for the pattern."""
    return "hand" in line or line == TURN_OVER


def _side(template: Template, display: Display) -> str:
    """How far the line was moved, and to which side of the part's outline."""
    distance = template.guide.distance
    if distance == 0.0:
        return "cut to the true line: flush"
    side = "outside" if (distance < 0.0) != template.around else "inside"
    return f"{display.both(abs(distance))} {side} the true line"


def _notes(template: Template, places: Sequence[TightPlace], display: Display) -> tuple[str, ...]:
    notes = [f"Router template for {template.guide.words}: {_side(template, display)}.", _feed(template.around)]
    inside = sum(place.kind == "inside" for place in places)
    outer = sum(place.kind == "outer" for place in places)
    holes = sum(place.kind == "hole" for place in places)
    if inside:
        notes.append(f"Small rings: {inside} inside {_plural('place', inside)} to clean by hand.")
    if outer:
        notes.append(
            f"The bit rounds {outer} outer {_plural('corner', outer)}, marked so: where it must be sharp, stop short "
            "of it and finish with saw or file."
        )
    if holes:
        notes.append(f"{holes} {_plural('hole', holes)} too narrow for the bit: drill.")
    return (*notes, CAUTION)


def _feed(around: bool) -> str:
    """Which way to feed a hand-held router, whose bit turns clockwise seen from above (common practice, no source)."""
    if around:
        return "Feed a hand-held router clockwise inside the window, seen from above."
    return "Feed a hand-held router counter-clockwise round the outside, clockwise in holes, seen from above."


def _plural(word: str, count: int) -> str:
    return word if count == 1 else f"{word}s"


def _at(place: TightPlace, display: Display) -> str:
    x, y = place.at
    return f"{display.length(x)} from the left, {display.length(y)} up"


def _words(place: TightPlace, display: Display) -> str:
    if place.kind == "hole":
        return "the bit does not go into the hole: drill it"
    shape = "corner" if place.radius == 0.0 else "curve"
    if place.kind == "outer":
        return f"the bit rounds the outer {shape} and takes off {display.amount(place.amount)}"
    shape = shape if place.radius < 1e6 else "gap"
    return f"the inside {shape} is too tight for the bit: {display.amount(place.amount)} is left to clean by hand"


def _short(place: TightPlace, display: Display) -> str:
    if place.kind == "hole":
        return "drill this hole"
    return f"{display.amount(place.amount)} {'left: clean by hand' if place.kind == 'inside' else 'rounded off'}"
