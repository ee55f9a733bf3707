"""Arches as a compass would strike them: on their circles, tangent where they meet, and refused where none can be."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from patterns.arches import BY_END_RADIUS, KINDS, ArchError, arch, rise_limits

few = settings(max_examples=80, deadline=None)
spans = st.floats(10.0, 5000.0)


@st.composite
def requests(draw):
    """Kind, span, rise and end radius (or None) of an arch that can be."""
    kind = draw(st.sampled_from(KINDS))
    span = draw(spans)
    least, most = rise_limits(kind, span)
    low = max(least, 0.01 * span)
    rise = low + draw(st.floats(0.0, 0.99)) * (min(most, 2.0 * span) - low)
    end_radius = None
    if kind in BY_END_RADIUS and draw(st.booleans()):
        end_radius = draw(st.floats(0.05, 0.95)) * min(rise, span / 2)
        if kind == "ogee":
            sum_of_radii = sum(each.radius for each in arch(kind, span, rise).radii)
            end_radius = min(end_radius, 0.95 * sum_of_radii)
    return kind, span, rise, end_radius


def arches_of_any_kind():
    return requests().map(lambda asked: arch(*asked[:3], end_radius=asked[3]))


def turns(curve):
    """The angle (radians) by which the direction changes at each joint of the chain."""
    d = np.diff(curve.beziers, axis=1)
    arriving, leaving = d[:-1, 2], d[1:, 0]
    cross = arriving[:, 0] * leaving[:, 1] - arriving[:, 1] * leaving[:, 0]
    return np.arctan2(cross, (arriving * leaving).sum(axis=1))


@few
@given(arches_of_any_kind())
def test_it_stands_on_its_springings_and_reaches_its_crown(struck):
    half = struck.span / 2
    assert struck.curve.start.tolist() == [-half, 0.0]
    assert struck.curve.end.tolist() == [half, 0.0]
    assert struck.curve.point(len(struck.curve) / 2).tolist() == [0.0, struck.rise]
    low_x, low_y, high_x, high_y = struck.curve.bounds
    tiny = 1e-6 * struck.span
    assert (low_x, low_y, high_x, high_y) == pytest.approx((-half, 0.0, half, struck.rise), abs=tiny)


@few
@given(arches_of_any_kind())
def test_its_halves_are_mirror_images(struck):
    mirrored = struck.curve.beziers[::-1, ::-1] * [-1.0, 1.0]
    assert np.array_equal(mirrored, struck.curve.beziers)


@few
@given(arches_of_any_kind())
def test_its_arcs_are_tangent_and_only_pointed_kinds_have_a_point(struck):
    angles = np.abs(turns(struck.curve))
    crown = len(struck.curve) // 2 - 1
    assert np.delete(angles, crown).max(initial=0.0) < 1e-9
    if struck.kind not in ("pointed", "four-centred", "ogee"):
        assert angles[crown] < 1e-9


@few
@given(arches_of_any_kind())
def test_every_place_is_within_a_thousandth_of_a_millimetre_of_its_circle_or_ellipse(struck):
    points = struck.curve.point(np.linspace(0, len(struck.curve) / 2, 1501))
    if struck.kind == "elliptical":
        # Sampson's distance: |f| / |grad f|, exact to first order
        a, b = struck.span / 2, struck.rise
        value = (points[:, 0] / a) ** 2 + (points[:, 1] / b) ** 2 - 1
        off = np.abs(value) / (2 * np.hypot(points[:, 0] / a**2, points[:, 1] / b**2))
    else:
        gaps = [np.hypot(*(points - each.centre).T) - each.radius for each in struck.radii]
        off = np.abs(gaps).min(axis=0)
    assert off.max() < 0.001


@pytest.mark.parametrize("rise", [20.0, 700.0, 2499.0, 4000.0])
def test_a_five_metre_ellipse_against_its_nearest_point_found_by_search(rise):
    for x, y in arch("elliptical", 5000.0, rise).curve.point(np.linspace(0.0, 8.0, 97)):
        angle = math.atan2(y / rise, x / 2500.0)
        found = minimize_scalar(
            lambda t, x=x, y=y: math.hypot(2500.0 * math.cos(t) - x, rise * math.sin(t) - y),
            bounds=(angle - 0.01, angle + 0.01),
            method="bounded",
            options={"xatol": 1e-12},
        )
        assert found.fun < 0.001


@few
@given(requests(), st.floats(0.1, 10.0))
def test_enlarging_span_and_rise_enlarges_everything(request_, scale):
    kind, span, rise, end_radius = request_
    struck = arch(kind, span, rise, end_radius=end_radius)
    bigger = arch(kind, scale * span, scale * rise, end_radius=end_radius and scale * end_radius)
    radii = [scale * each.radius for each in struck.radii]
    assert [each.radius for each in bigger.radii] == pytest.approx(radii, rel=1e-7)
    assert bigger.curve.length == pytest.approx(scale * struck.curve.length, rel=1e-9)


@few
@given(spans, st.floats(0.02, 0.499), st.floats(0.02, 0.98))
def test_three_arcs_turn_one_way_whatever_the_end_radius(span, ratio, share):
    struck = arch("three-centred", span, ratio * span, end_radius=share * ratio * span)
    ends, crown = struck.radii
    assert ends.radius < ratio * span < crown.radius
    assert math.dist(ends.centre, crown.centre) == pytest.approx(crown.radius - ends.radius, rel=1e-6)


@few
@given(spans, st.floats(0.02, 0.74))
def test_a_four_centred_arch_by_its_usual_rule_never_bulges_at_the_crown(span, ratio):
    struck = arch("four-centred", span, ratio * span)
    ends, crown = struck.radii
    assert crown.centre[0] > 0.0 > crown.centre[1]
    assert ends.centre[0] < 0.0
    assert crown.radius > ends.radius
    heights = struck.curve.point(np.linspace(0, len(struck.curve) / 2, 400))
    assert (np.diff(heights, axis=0) > -1e-9 * span).all()


@few
@given(spans, st.floats(0.02, 2.0), st.floats(0.05, 0.95))
def test_an_ogee_climbs_all_the_way(span, ratio, share):
    both = sum(each.radius for each in arch("ogee", span, ratio * span).radii)
    struck = arch("ogee", span, ratio * span, end_radius=share * both)
    half = struck.curve.point(np.linspace(0, len(struck.curve) / 2, 400))
    assert (np.diff(half, axis=0) > -1e-9 * span).all()
    lower, upper = struck.radii
    assert math.dist(lower.centre, upper.centre) == pytest.approx(lower.radius + upper.radius)


def test_low_and_high_ogees_meet_where_the_rise_is_half_the_span():
    low, high = (arch("ogee", 600.0, 300.0 * k) for k in (1 - 1e-9, 1 + 1e-9))
    assert [each.radius for each in low.radii] == pytest.approx([each.radius for each in high.radii], rel=1e-6)


def test_a_three_centred_arch_of_half_the_span_is_a_semicircle():
    for end_radius in (None, 100.0):
        struck = arch("three-centred", 400.0, 200.0, end_radius=end_radius)
        assert struck.curve.length == pytest.approx(200.0 * math.pi, rel=1e-7)
        assert [each.radius for each in struck.radii] == [200.0]


def test_a_very_flat_arc_keeps_its_rise():
    struck = arch("segmental", 1000.0, radius=1e9)
    assert struck.rise == pytest.approx(1000.0**2 / 8 / 1e9, rel=1e-9)
    assert struck.curve.bounds[3] == pytest.approx(struck.rise)


def test_every_radius_has_a_name_and_the_rule_is_told():
    names = {
        kind: [each.name for each in arch(kind, 600.0, 300.0 * 0.99 if kind != "pointed" else 400.0).radii]
        for kind in KINDS
    }
    assert names["segmental"] == names["pointed"] == ["radius"]
    for kind in ("elliptical", "three-centred", "four-centred", "ogee"):
        assert names[kind] == ["end radius", "crown radius"]
    assert "two thirds of the rise" in arch("four-centred", 600.0, 200.0).rule
    assert "as given" in arch("four-centred", 600.0, 200.0, end_radius=80.0).rule


# -------------------------------------------------------------------- what no arch can be


def inches(mm):
    return f"{mm / 25.4:g} in"


def test_the_fault_is_told_in_the_makers_unit_with_what_would_do():
    with pytest.raises(ArchError) as caught:
        arch("segmental", 21 * 25.4, rise=14 * 25.4)
    expected = "14 in is more than half the span (21 in): the arch would overhang its springing; 10.5 in is the most"
    assert caught.value.worded(inches) == expected
    assert caught.value.worded(inches, "arch_rise * 2").startswith("arch_rise * 2 is more than half")
    assert caught.value.limit == pytest.approx(10.5 * 25.4)


@pytest.mark.parametrize(
    ("kind", "given", "key", "limit", "bound"),
    [
        ("three-centred", {"rise": 301.0}, "rise", 300.0, "most"),
        ("pointed", {"rise": 299.0}, "rise", 300.0, "least"),
        ("four-centred", {"rise": 450.0}, "rise", 450.0, "under"),
        ("segmental", {"radius": 299.0}, "radius", 300.0, "least"),
        ("pointed", {"radius": 299.0}, "radius", 300.0, "least"),
        ("three-centred", {"rise": 200.0, "end_radius": 200.0}, "end_radius", 200.0, "under"),
        ("four-centred", {"rise": 500.0, "end_radius": 300.0}, "end_radius", 300.0, "under"),
        ("ogee", {"rise": 300.0, "end_radius": 700.0}, "end_radius", 300.0, "under"),
    ],
)
def test_limits_are_told_and_just_inside_them_there_is_an_arch(kind, given, key, limit, bound):
    with pytest.raises(ArchError) as caught:
        arch(kind, 600.0, **given)
    assert (caught.value.key, caught.value.bound) == (key, bound)
    assert caught.value.limit == pytest.approx(limit)
    step = {"most": 0.0, "least": 0.0, "under": -0.001}[bound]
    assert arch(kind, 600.0, **{**given, key: caught.value.limit + step}).span == 600.0


@pytest.mark.parametrize(
    ("kind", "given", "key", "words"),
    [
        ("gothick", {"rise": 5.0}, "kind", "choose from segmental, elliptical"),
        ("elliptical", {}, "rise", "an elliptical arch needs its rise"),
        ("segmental", {}, "rise", "rise or radius"),
        ("elliptical", {"radius": 5.0}, "radius", "give its rise"),
        ("segmental", {"rise": 20.0, "radius": 500.0}, "radius", "one too many"),
        ("segmental", {"rise": 20.0, "end_radius": 5.0}, "end_radius", "no place in a segmental arch"),
        ("ogee", {"rise": 0.0}, "rise", "above zero"),
        ("ogee", {"rise": -3.0}, "rise", "above zero"),
        ("ogee", {"rise": math.nan}, "rise", "above zero"),
        ("pointed", {"radius": math.inf}, "radius", "above zero"),
        ("three-centred", {"rise": 50.0, "end_radius": 0.0}, "end_radius", "above zero"),
    ],
)
def test_requests_that_make_no_sense(kind, given, key, words):
    with pytest.raises(ArchError, match=words) as caught:
        arch(kind, 600.0, **given)
    assert caught.value.key == key


def test_a_span_must_be_a_length():
    for span in (0.0, -1.0, math.inf):
        with pytest.raises(ArchError) as caught:
            arch("segmental", span, 1.0)
        assert caught.value.key == "span"


def test_half_the_span_in_inches_is_not_refused_for_float_noise():
    span = 22.8125 * 25.4
    for kind in ("segmental", "three-centred", "pointed"):
        assert arch(kind, span, rise=22.8125 * 25.4 / 2 * (1 + 1e-15)).rise == pytest.approx(span / 2)
