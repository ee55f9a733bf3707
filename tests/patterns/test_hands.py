"""Parts of the opposite hand: the mirror image to the last bit, words that stay true, never one pattern silently for two."""

from __future__ import annotations

import math
from functools import cache

import fromfile
import numpy as np
import pytest
import shapely
from anypiece import pattern_files
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cli import request
from patterns.affine import Affine
from patterns.errors import PatternError
from patterns.filetext import NamedText
from patterns.hands import hands_of, mirrored
from patterns.part import Part
from patterns.pattern import Pattern, Role

DEMOS = ("dolls-cradle", "bench-back", "hall-rack", "settle-crest")

BRACKET = """\
curvewright = 1
title = "Coat bracket"
units = "in"
[[part]]
name = "bracket"
quantity = 3
opposite_hand = 1
thickness = "3/4"
blank = { length = "9", width = "6" }
edges.top = { points = [["0", "0"], ["2", "1/2"], ["5", "2"], ["9", "2 1/2"]] }
edges.left = { leave = "1/16" }
edges.bottom = { round_over = { radius = "1/4", faces = "outside", from = "1", to = "4" } }
corners.bottom_right = { notch = ["1", "1/2"] }
[[part.hole]]
circle = "1/2"
at = ["2", "2"]
"""
MARKED = (
    BRACKET + '[[part.mark]]\nline = [["3", "1"], ["6", "2"]]\n[[part.mark]]\nnote = "shelf here"\nat = ["5", "1"]\n'
)
ALIKE = BRACKET.split("edges.top")[0] + 'edges.top = { arch = "segmental", rise = "1", arch_to = "edge" }\n'


def job_of(text: str) -> request.Job:
    return request.make(NamedText(text, "piece.toml"), {}, fromfile.SHOP)


@cache
def demo(name: str) -> request.Job:
    return job_of((fromfile.DEMO / f"{name}.toml").read_text(encoding="utf-8"))


def cut_lines(shape: Part | Pattern) -> list[bytes]:
    """Every Bézier of the outline by its control points, whichever way it runs."""
    found = []
    for curve in shape.outline.curves:
        for bezier in np.round(curve.beziers, 9) + 0.0:
            found.append(min(bezier.tobytes(), np.ascontiguousarray(bezier[::-1]).tobytes()))
    return sorted(found)


def reflected(shape: Part | Pattern, middle: float) -> list[bytes]:
    over = Affine.reflection_x(middle)
    found = []
    for curve in shape.outline.curves:
        for bezier in np.round(curve.transformed(over).beziers, 9) + 0.0:
            found.append(min(bezier.tobytes(), np.ascontiguousarray(bezier[::-1]).tobytes()))
    return sorted(found)


def check_mirrored(part: Part) -> None:
    twin = mirrored(part, "twin", "twin")
    assert cut_lines(twin) == reflected(part, part.blank.middle_x)
    assert twin.blank.bounds == pytest.approx(part.blank.bounds)
    assert twin.outline.area == pytest.approx(part.outline.area)
    for one, other in zip(part.boards, twin.boards, strict=True):
        assert other.outline.area == pytest.approx(one.outline.area)
    back = mirrored(twin, part.name, part.slug)
    assert cut_lines(back) == cut_lines(part)
    assert [mark.text for s in back.stretches for mark in s.marks] == [m.text for s in part.stretches for m in s.marks]
    assert [one.name for one in back.blank.edges] == [one.name for one in part.blank.edges]
    for edge in part.blank.edges:
        other = twin.blank.edge(edge.name)
        assert other is not None
        inside = other.to_part.point(edge.length / 2, 1e-3)
        assert bool(twin.blank.outline.contains(np.array([inside]))[0]), "depth still goes into the blank"


@pytest.mark.parametrize("name", DEMOS)
def test_the_mirror_image_is_exact_and_twice_it_is_the_part_again(name: str) -> None:
    for part in demo(name).parts:
        check_mirrored(part)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
@given(st.data())
def test_that_holds_for_any_piece(data: st.DataObject) -> None:
    try:
        job = job_of(data.draw(pattern_files(calm=True)))
    except PatternError:
        return
    for part in job.parts:
        check_mirrored(part)


def lines_of(pattern: Pattern, role: Role, over: Affine) -> shapely.MultiLineString:
    curves = [stroke.curve.transformed(over) for stroke in pattern.strokes if stroke.role is role]
    return shapely.MultiLineString([shapely.LineString(curve.flattened(0.001)) for curve in curves])


@pytest.mark.parametrize("text", [BRACKET, MARKED])
def test_paper_that_is_turned_over_lies_on_the_twin(text: str) -> None:
    """The simulation of it: the drawing seen from behind, beside what is drawn for the mirrored piece."""
    job = job_of(text)
    from msgspec.structs import replace

    (twin,) = (one for one in replace(job, mirrored=True).patterns if one.slug.endswith("-mirrored"))
    original = job.patterns[0]
    over = Affine.reflection_x(job.parts[0].blank.middle_x)
    for role in (Role.CUT, Role.CENTRE):
        here, there = lines_of(original, role, over), lines_of(twin, role, Affine())
        assert shapely.hausdorff_distance(here, there) < 0.01


# ---------------------------------------------------------------- what is said


def test_a_template_that_serves_both_is_turned_over_and_says_so() -> None:
    (pattern,) = job_of(BRACKET).patterns
    assert "make 3: 2 as drawn, 1 turned over" in pattern.title_block
    assert "turn over for the other side" in pattern.title_block


def test_lines_and_notes_inside_ask_for_a_pattern_of_their_own() -> None:
    job = job_of(MARKED)
    first, twin = job.patterns
    assert (first.name, twin.name) == ("bracket", "bracket, opposite hand")
    assert (first.part, twin.part) == ("bracket", "bracket") and first.slug != twin.slug
    assert "make 2 of this hand" in first.title_block and "make 1 of this hand" in twin.title_block
    hands = hands_of(job.parts[0], job.patterns[:1], job.display)
    assert hands is not None and len(hands.reasons) == 2
    assert cut_lines(twin) == reflected(first, job.parts[0].blank.middle_x)


def test_a_part_that_is_its_own_mirror_image_is_alike_for_both() -> None:
    (pattern,) = job_of(ALIKE).patterns
    assert "make 3: both hands are alike" in pattern.title_block


@pytest.mark.parametrize("text", [BRACKET, MARKED, ALIKE])
def test_never_silently_one(text: str) -> None:
    patterns = job_of(text).patterns
    words = " ".join(line for pattern in patterns for line in pattern.title_block)
    assert any(said in words for said in ("turn over", "opposite hand", "alike"))
    silent = job_of(text.replace("opposite_hand = 1\n", "")).patterns
    assert [pattern.title_block[3] for pattern in silent] == ["make 3"]


@pytest.mark.parametrize(
    "text", [MARKED, *((fromfile.DEMO / f"{name}.toml").read_text(encoding="utf-8") for name in DEMOS)]
)
def test_words_are_readable_and_stations_are_counted_from_where_they_say(text: str) -> None:
    from msgspec.structs import replace

    job = replace(job_of(text), mirrored=True)
    for part, pattern in zip(job.parts, job.patterns, strict=False):
        if "mirrored" not in pattern.name or part.boards or part.blank.spec.kind == "polygon":
            continue
        x0, _, x1, _ = part.blank.bounds
        ticks = {stroke.key: stroke.curve.start for stroke in pattern.strokes if ".station[" in stroke.key}
        checked = 0
        for label in pattern.labels:
            assert -math.pi / 2 < label.angle <= math.pi / 2 + 1e-9
            edge = label.key.split(".")[1].split("[")[0] if label.key in ticks else ""
            station = label.text.partition(": ")[0]
            if edge not in ("top", "bottom") or ": " not in label.text or "middle" in label.text:
                continue
            x = float(ticks[label.key][0])
            from_right = station.endswith(" from right")
            assert station.removesuffix(" from right") == job.display.length(x1 - x if from_right else x - x0)
            checked += 1
        if text == MARKED:
            assert checked >= 2


def test_words_of_the_twin_lie_on_no_line() -> None:
    """As those of the part itself: laid out anew, not moved over."""
    twin = job_of(MARKED).patterns[1]
    title = next(label for label in twin.labels if label.text == "shelf here")
    assert bool(twin.outline.contains(np.array([title.at]))[0])


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ("quantity = 2\nopposite_hand = 2", "quantity counts both hands"),
        ("opposite_hand = 1", "give quantity = 2 for a pair"),
        ("quantity = 2\nopposite_hand = -1", "opposite_hand"),
        ('quantity = 2\nopposite_hand = "one"', "opposite_hand"),
    ],
)
def test_numbers_of_hands_that_can_t_be(keys: str, said: str) -> None:
    text = BRACKET.replace("quantity = 3\nopposite_hand = 1", keys)
    with pytest.raises(PatternError) as caught:
        job_of(text)
    assert any("opposite_hand" in line and said in line for line in caught.value.lines())
