"""Measured tables: the smoothest curve within the tolerance, proved smoothest; misread readings; nearest arches."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline
from scipy.optimize import minimize

from patterns.arches import arch
from patterns.fitting import TableError, through_offsets, values_at
from patterns.measured import smoothest_within
from patterns.nearest_arches import nearest_arches

few = settings(max_examples=60, deadline=None)
THIRTY_SECOND = 25.4 / 32


def second_derivatives(curve):
    """s'' at both ends of every piece of a curve y = s(x), shape (n, 2)."""
    y, h = curve.beziers[:, :, 1], curve.beziers[:, 3, 0] - curve.beziers[:, 0, 0]
    ends = 6 * np.diff(y, n=2, axis=1) / h[:, None] ** 2
    return ends, h


def bending(curve):
    ends, h = second_derivatives(curve)
    p, q = ends.T
    return float((h / 3 * (p * p + p * q + q * q)).sum())


def jumps(curve):
    """The jump of s''' at each knot, outside counted as 0: half the gradient of the bending in the knot's height."""
    ends, h = second_derivatives(curve)
    third = np.diff(ends, axis=1)[:, 0] / h
    return np.diff(np.concatenate([[0.0], third, [0.0]]))


def arc(stations, radius=1500.0, middle=600.0):
    return radius - np.sqrt(radius**2 - (np.asarray(stations) - middle) ** 2)


@st.composite
def measured_tables(draw, most=16):
    count = draw(st.integers(4, most))
    steps = draw(st.lists(st.floats(15.0, 80.0), min_size=count - 1, max_size=count - 1))
    x = np.concatenate([[0.0], np.cumsum(steps)])
    noise = draw(st.lists(st.floats(-3.0, 3.0), min_size=count, max_size=count))
    bow, wave = draw(st.floats(-60, 60)), draw(st.floats(-10, 10))
    y = bow * (x / x[-1]) ** 2 + wave * np.sin(7 * x / x[-1]) + np.array(noise)
    return x, y, draw(st.floats(0.2, 3.0))


slopes = st.none() | st.floats(-0.5, 0.5)

# -------------------------------------------------------------------- smoothest, and within


@few
@given(measured_tables(), slopes, slopes)
def test_it_is_within_and_nothing_smoother_is(table, start, end):
    """The conditions of Karush, Kuhn and Tucker, read off the finished Béziers; for a convex problem they suffice."""
    x, y, within = table
    fitted = smoothest_within(x, y, within, start=start, end=end)
    off = values_at(fitted.curve, x) - y
    assert np.abs(off).max() <= within * (1 + 1e-9)
    assert fitted.largest_deviation == pytest.approx(np.abs(off).max())
    assert (fitted.curve.start[0], fitted.curve.end[0]) == (x[0], x[-1])
    knots = np.append(fitted.curve.beziers[:, 0, 0], fitted.curve.end[0])
    force = jumps(fitted.curve)
    scale = np.abs(second_derivatives(fitted.curve)[0]).max() / np.diff(knots).min() + 1e-12
    for knot, jump in zip(knots, force, strict=True):
        index = int(np.argmin(np.abs(x - knot)))
        if off[index] > within * (1 - 1e-6):
            assert jump <= 1e-6 * scale  # held down from above: lifting it would bend the curve less
        elif off[index] < -within * (1 - 1e-6):
            assert jump >= -1e-6 * scale
        else:
            assert jump == pytest.approx(0.0, abs=1e-6 * scale)
    ends, _ = second_derivatives(fitted.curve)
    limit = 1e-7 * max(1e-9, np.abs(ends).max())
    assert start is not None or abs(ends[0, 0]) <= limit
    assert end is not None or abs(ends[-1, 1]) <= limit


@pytest.mark.parametrize("seed", range(4))
def test_an_independent_solver_finds_the_same_bending(seed):
    rng = np.random.default_rng(seed)
    x = np.cumsum(rng.uniform(0.5, 1.5, 9))
    y = np.sin(x) * 3 + rng.uniform(-0.3, 0.3, 9)

    def square(z):
        second = CubicSpline(x, z, bc_type="natural").derivative(2)
        p, q = second(x[:-1]), second(x[1:])
        return float((np.diff(x) / 3 * (p * p + p * q + q * q)).sum())

    ours = bending(smoothest_within(x, y, 0.25).curve)
    sides = list(zip(y - 0.25, y + 0.25, strict=True))
    found = minimize(square, y, bounds=sides, method="SLSQP", options={"ftol": 1e-12, "maxiter": 500})
    assert ours == pytest.approx(found.fun, rel=1e-4)
    assert ours <= found.fun * (1 + 1e-8)


@few
@example((15.0 * np.arange(10), np.arange(10) ** 2 / 81, 1.0), 0.0)  # a straight line will do
@given(measured_tables(), st.floats(0.0, 0.3))
def test_a_curve_that_is_bound_never_goes_under_and_nothing_smoother_does_so(table, share):
    """A board's edge: no reading is past it, many lie on it. Again the conditions of Karush, Kuhn and Tucker."""
    x, y, within = table
    y = np.maximum(y - np.quantile(y, share), 0.0)
    free = smoothest_within(x, y, within)
    fitted = smoothest_within(x, y, within, least=0.0)
    off = values_at(fitted.curve, x) - y
    assert np.abs(off).max() <= within * (1 + 1e-9)
    assert fitted.curve.bounds[1] >= -0.0005
    assert bending(fitted.curve) >= bending(free.curve) * (1 - 1e-6) - 1e-12
    if free.curve.bounds[1] >= 0.0:
        np.testing.assert_allclose(values_at(fitted.curve, x), values_at(free.curve, x), atol=1e-6)
    knots = np.append(fitted.curve.beziers[:, 0, 0], fitted.curve.end[0])
    scale = np.abs(second_derivatives(fitted.curve)[0]).max() / np.diff(knots).min() + 1e-9
    for knot, value, jump in zip(knots, values_at(fitted.curve, knots), jumps(fitted.curve), strict=True):
        near = np.abs(x - knot) < 1e-6
        if near.any() and off[near][0] > within * (1 - 1e-6):
            assert jump <= 1e-6 * scale
        elif value < 1e-6 or (near.any() and off[near][0] < -within * (1 - 1e-6)):
            assert jump >= -1e-6 * scale
        else:
            assert jump == pytest.approx(0.0, abs=1e-6 * scale)


def test_a_bound_is_kept_where_readings_on_it_are_far_apart():
    """Between two readings on the edge the free curve would swing 0.3 mm past it."""
    x, y = [0, 100, 200, 300, 400], [40, 5, 0, 0, 30]
    assert smoothest_within(x, y, 0.5).curve.bounds[1] < -0.3
    assert smoothest_within(x, y, 0.5, least=0.0).curve.bounds[1] == pytest.approx(0.0, abs=5e-4)


def test_a_bound_that_an_end_slope_breaks_is_left_to_be_told():
    fitted = smoothest_within([0, 100, 200, 300], [0, 9, 7, 12], 0.002, start=-0.3, least=0.0)
    assert fitted.curve.bounds[1] < -0.001
    assert fitted.largest_deviation <= 0.002


@few
@given(measured_tables(), st.floats(1.1, 3.0))
def test_a_wider_tolerance_never_bends_more(table, factor):
    x, y, within = table
    narrow, wide = (bending(smoothest_within(x, y, w).curve) for w in (within, factor * within))
    assert wide <= narrow * (1 + 1e-9) + 1e-15
    assert narrow <= bending(through_offsets(x, y)) * (1 + 1e-9) + 1e-15


@few
@given(measured_tables(), st.floats(0.2, 5.0), st.floats(-1.0, 1.0), st.floats(-50, 50))
def test_enlarging_and_tilting_the_table_does_the_same_to_the_curve(table, scale, tilt, shift):
    x, y, within = table
    plain = smoothest_within(x, y, within)
    changed = smoothest_within(x, scale * y + tilt * x + shift, scale * within)
    at = np.linspace(x[0], x[-1], 60)
    expected = scale * values_at(plain.curve, at) + tilt * at + shift
    if plain.touched and len(plain.touched) > 2:  # else it is a straight line, which may be one of many
        assert values_at(changed.curve, at) == pytest.approx(expected, abs=1e-5 * scale)


@few
@given(measured_tables(), slopes)
def test_a_table_read_from_the_other_end_gives_the_same_curve(table, slope):
    x, y, within = table
    there = smoothest_within(x, y, within, start=slope)
    back = smoothest_within(-x[::-1], y[::-1], within, end=None if slope is None else -slope)
    at = np.linspace(x[0], x[-1], 60)
    assert bending(back.curve) == pytest.approx(bending(there.curve), rel=1e-7, abs=1e-15)
    if len(there.touched) > 2:
        assert values_at(back.curve, -at) == pytest.approx(values_at(there.curve, at), abs=1e-5)


def test_a_symmetric_table_gives_a_symmetric_curve():
    x = np.linspace(-400, 400, 17)
    noise = np.random.default_rng(1).uniform(-1, 1, 9)
    y = x**2 / 2000 + np.concatenate([noise, noise[-2::-1]])
    curve = smoothest_within(x, y, 0.8).curve
    at = np.linspace(0, 400, 50)
    assert values_at(curve, at) == pytest.approx(values_at(curve, -at), abs=1e-7)


def test_readings_of_a_straight_edge_give_a_straight_edge():
    x = np.linspace(0, 900, 13)
    y = 20 + 0.05 * x + np.tile([0.5, -0.5], 7)[:13]
    fitted = smoothest_within(x, y, 0.6)
    assert fitted.curve.is_straight
    assert fitted.largest_deviation <= 0.6


def test_a_line_that_only_the_least_greatest_deviation_finds():
    y = np.array([1.0, -1, -1, -1, -1, -1, -1, -1, -1])
    fitted = smoothest_within(np.arange(9.0) * 50, y, 0.95)
    assert fitted.curve.is_straight  # least squares would miss the first by more
    assert fitted.largest_deviation <= 0.95


def test_level_ends_are_kept():
    x = np.linspace(0, 800, 15)
    y = 40 * np.cos(np.pi * x / 800) + np.random.default_rng(4).uniform(-0.7, 0.7, 15)
    curve = smoothest_within(x, y, 0.8, start=0.0, end=0.0).curve
    assert curve.derivative(0.0)[1] == pytest.approx(0.0, abs=1e-12)
    assert curve.derivative(float(len(curve)))[1] == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("seed", range(6))
def test_a_noisy_circle_is_faired_close_to_the_circle(seed):
    x = np.linspace(0, 1200, 25)
    readings = arc(x) + np.random.default_rng(seed).uniform(-1, 1, 25) * THIRTY_SECOND
    fitted = smoothest_within(x, readings, THIRTY_SECOND)
    at = np.linspace(0, 1200, 400)
    assert np.abs(values_at(fitted.curve, at) - arc(at)).max() < 2 * THIRTY_SECOND
    # the circle itself would do, so the fit bends no more than it
    circle = sum((1500**2 - (x0 - 600) ** 2) ** -3 * 1500**4 for x0 in at) * (at[1] - at[0])
    assert bending(fitted.curve) <= 1.01 * circle
    assert hollows(fitted.curve) == 0
    assert hollows(through_offsets(x, readings)) > 0


def hollows(curve):
    """At how many knots it curves the wrong way for a circle that bellies down (noise of the solution aside)."""
    ends, _ = second_derivatives(curve)
    return int((ends < -1e-6 * np.abs(ends).max()).sum())


def test_a_long_table_is_faired_whole():
    x = np.linspace(0, 3000, 900)
    y = 200 * np.sin(x / 900) + np.random.default_rng(2).uniform(-0.5, 0.5, 900)
    fitted = smoothest_within(x, y, 0.5)
    assert np.abs(values_at(fitted.curve, x) - y).max() <= 0.5
    force, knots = jumps(fitted.curve), np.append(fitted.curve.beziers[:, 0, 0], fitted.curve.end[0])
    free = np.isin(x, knots) & (np.abs(np.array(fitted.deviations)) < 0.5 * (1 - 1e-6))
    assert np.abs(force[np.isin(knots, x[free])]).max() < 1e-6 * np.abs(force).max()
    assert len(fitted.curve) < 150


# -------------------------------------------------------------------- left out


def test_a_worn_stretch_is_passed_over_and_its_wear_is_told():
    x = np.linspace(0, 1200, 25)
    y = arc(x) + np.random.default_rng(8).uniform(-0.7, 0.7, 25)
    worn = (x >= 600) & (x <= 800)
    y[worn] += 9.0
    fitted = smoothest_within(x, y, THIRTY_SECOND, leave_out=[(600.0, 800.0)])
    assert fitted.left_out == tuple(np.flatnonzero(worn).tolist())
    assert fitted.largest_deviation <= THIRTY_SECOND
    assert np.array(fitted.deviations)[worn] == pytest.approx(np.full(worn.sum(), -9.0), abs=2.0)
    without = smoothest_within(x[~worn], y[~worn], THIRTY_SECOND)
    at = np.linspace(0, 1200, 99)
    assert values_at(fitted.curve, at) == pytest.approx(values_at(without.curve, at), abs=1e-6)


@pytest.mark.parametrize("slope", [None, 0.1])
def test_a_broken_end_is_carried_on_to_the_end_of_the_table(slope):
    x = np.linspace(0, 1200, 25)
    y = arc(x)
    y[-3:] -= 50.0
    fitted = smoothest_within(x, y, 0.5, leave_out=[(1100.0, 1200.0)], end=slope)
    assert fitted.curve.end[0] == 1200.0
    last = fitted.curve.derivative(float(len(fitted.curve)))
    if slope is not None:
        assert last[1] / last[0] == pytest.approx(slope)
    assert fitted.left_out == (22, 23, 24)
    assert fitted.largest_deviation <= 0.5


def test_what_cannot_be_left_out():
    x, y = [0.0, 10.0, 20.0], [0.0, 1.0, 0.0]
    with pytest.raises(TableError, match="fewer than two"):
        smoothest_within(x, y, 0.1, leave_out=[(5.0, 25.0)])
    with pytest.raises(ValueError, match="from the lesser"):
        smoothest_within(x, y, 0.1, leave_out=[(15.0, 5.0)])


@pytest.mark.parametrize("within", [0.0, -1.0, float("nan"), float("inf")])
def test_the_tolerance_must_be_a_length(within):
    with pytest.raises(ValueError, match="tolerance"):
        smoothest_within([0, 1, 2], [0, 1, 0], within)


def test_unordered_stations_are_named():
    with pytest.raises(TableError) as caught:
        smoothest_within([0, 20, 10], [0, 1, 0], 0.5)
    assert caught.value.index == 2


# -------------------------------------------------------------------- misread


@pytest.mark.parametrize("bad", [1, 2, 7, 12, 22, 23])
@pytest.mark.parametrize("error", [-12.7, 6.35])
def test_a_misread_reading_is_named_and_its_neighbours_are_not(bad, error):
    x = np.linspace(0, 1200, 25)
    for seed in range(5):
        y = arc(x) + np.random.default_rng(seed).uniform(-1, 1, 25) * THIRTY_SECOND
        true = y[bad]
        y[bad] += error * (2 if bad in (1, 23) else 1)
        suspects = smoothest_within(x, y, THIRTY_SECOND).suspects
        assert [suspect.index for suspect in suspects] == [bad]
        assert suspects[0].expected == pytest.approx(true, abs=4 * THIRTY_SECOND)
        assert (suspects[0].station, suspects[0].value) == (x[bad], y[bad])


def test_two_misread_readings_are_both_named():
    x = np.linspace(0, 1200, 25)
    y = arc(x) + np.random.default_rng(0).uniform(-1, 1, 25) * THIRTY_SECOND
    y[6] += 12.7
    y[15] -= 9.5
    assert [suspect.index for suspect in smoothest_within(x, y, THIRTY_SECOND).suspects] == [6, 15]


def test_honest_readings_of_gentle_curves_are_not_blamed():
    for seed in range(40):
        rng = np.random.default_rng(seed)
        x = np.sort(rng.uniform(0, 1200, 20))
        if np.diff(x).min() < 10:
            continue
        y = arc(x) + 15 * np.sin(x / 300) + rng.uniform(-1, 1, 20) * THIRTY_SECOND
        assert smoothest_within(x, y, THIRTY_SECOND).suspects == ()


def test_the_upright_springings_of_a_measured_ellipse_are_not_blamed():
    x = np.linspace(-300, 300, 25)
    y = 140 * np.sqrt(np.maximum(0, 1 - (x / 300) ** 2)) + np.random.default_rng(3).uniform(-0.6, 0.6, 25)
    assert smoothest_within(x, y, THIRTY_SECOND).suspects == ()


def test_a_tolerance_set_far_too_fine_blames_nobody():
    x = np.linspace(0, 1200, 25)
    y = arc(x) + np.random.default_rng(5).uniform(-2, 2, 25)
    assert smoothest_within(x, y, 0.1).suspects == ()


def test_a_left_out_reading_is_not_judged():
    x = np.linspace(0, 1200, 25)
    y = arc(x)
    y[10] += 30
    assert smoothest_within(x, y, THIRTY_SECOND, leave_out=[(x[10], x[10])]).suspects == ()


# -------------------------------------------------------------------- nearest arches

SHAPES = [
    ("segmental", 90.0),
    ("segmental", 250.0),
    ("elliptical", 140.0),
    ("three-centred", 140.0),
    ("pointed", 360.0),
    ("four-centred", 190.0),
    ("ogee", 160.0),
    ("ogee", 330.0),
]


@pytest.mark.parametrize(("kind", "rise"), SHAPES)
def test_a_measured_arch_is_known_again(kind, rise):
    inward = rise > 150.0
    whole = arch(kind, 600.0, rise).curve
    outline = whole.point(np.linspace(0, len(whole), 4001))
    x = np.linspace(-300, 300, 25)
    height = np.interp(x, outline[:, 0], outline[:, 1]) + np.random.default_rng(7).uniform(-0.4, 0.4, 25)
    depths = 30 + height if inward else 500 - height
    matches = nearest_arches(x + 1000, depths)
    best = matches[0]
    assert best.kind == kind
    assert len({match.kind for match in matches}) == 6
    assert best.largest_deviation < 0.7
    assert best.rise == pytest.approx(rise, abs=1.5)
    assert (best.start, best.end) == pytest.approx((700, 1300), abs=2.0)
    assert best.arch_to == ("inside" if inward else "edge")
    assert best.springing == pytest.approx(30 if inward else 500, abs=1.5)
    assert best.rms < 1.15 * min(match.rms for match in matches)


def test_the_deviations_are_square_to_the_arch():
    x = np.linspace(0, 600, 13)
    depths = 500.0 - np.sqrt(np.maximum(0.0, 300.0**2 - (x - 300) ** 2))
    match = next(each for each in nearest_arches(x, depths) if each.kind == "segmental")
    centre = np.array([300.0, match.springing - match.radii[0].centre[1]])
    off = np.hypot(x - centre[0], depths - centre[1]) - match.radii[0].radius
    assert np.array(match.deviations) == pytest.approx(off, abs=1e-3)
    assert match.largest_deviation < 0.01


def test_enlarging_the_table_enlarges_the_arches():
    x = np.linspace(0, 600, 15)
    depths = 140 * np.sqrt(np.maximum(0, 1 - (x / 300 - 1) ** 2)) + 2 * np.cos(x)
    small, large = nearest_arches(x, depths), nearest_arches(7 * x, 7 * depths)
    for one, seven in zip(small, large, strict=True):
        assert (seven.kind, seven.rms) == (one.kind, pytest.approx(7 * one.rms, rel=1e-3))


def test_tables_that_are_no_arch():
    with pytest.raises(TableError, match="straight"):
        nearest_arches([0, 10, 20, 30, 40], [1, 2, 3, 4, 5])
    with pytest.raises(TableError, match="at least 5"):
        nearest_arches([0, 10, 20, 30], [1, 2, 2, 1])


# -------------------------------------------------------------------- start-up


def test_scipy_waits_until_a_table_is_faired():
    code = "import sys, patterns.measured; sys.exit(any(name.startswith('scipy') for name in sys.modules))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
