"""Two versions of a part on each other: what has moved, by how much, where, and whether there is more wood or less."""

from __future__ import annotations

import contextlib
import itertools
import math
from collections.abc import Callable

import pytest
import shapely
from anypiece import pattern_files
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from patterns.apart import ACCURACY_MM
from patterns.compared import Compared, compare, shape_of
from patterns.display import Display
from patterns.errors import PatternError
from patterns.part import Part, build
from patterns.patternfile import PatternSource, examine
from patterns.piece import Piece

Build = Callable[..., Part]

PLAIN = '[[part]]\nname = "rail"\nblank = {{ length = "{length}", width = "{width}" }}\n{rest}\n'
ARCH = 'edges.bottom = {{ arch = "segmental", rise = "{rise}", arch_to = "inside", from = "100", to = "900" }}'
HOLE = '[[part.hole]]\nname = "{name}"\ncircle = "{across}"\nat = ["{x}", "{y}"]\n'


@pytest.fixture(scope="session")
def rail(bench) -> Build:
    """A rail of this length and width (mm) with whatever else is said of it."""

    def built(length: float = 1000, width: float = 120, rest: str = "") -> Part:
        return bench(PLAIN.format(length=length, width=width, rest=rest)).part

    return built


def compared(old: Part, new: Part) -> Compared:
    return compare(shape_of(old), shape_of(new))


def polygon(part: Part) -> shapely.Polygon:
    return shapely.Polygon(part.outline.boundary.flattened(0.0005), [h.flattened(0.0005) for h in part.outline.holes])


def farthest_vertex(one: shapely.Polygon, other: shapely.Polygon) -> float:
    """The farthest of points a millimetre apart on the one boundary from the other, by GEOS."""
    points = shapely.points(shapely.get_coordinates(shapely.segmentize(one.exterior, 1.0)))
    return float(shapely.distance(points, other.exterior).max())


def test_of_an_arch_that_is_raised_the_crown_is_farthest_off_and_wood_is_taken_away(rail: Build) -> None:
    found = compared(rail(rest=ARCH.format(rise=50)), rail(rest=ARCH.format(rise=56.35)))
    assert [change.key for change in found.changes] == ["edges.bottom"]
    change = found.changes[0]
    assert change.distance == pytest.approx(6.35, abs=1e-4) and not change.more_wood
    assert change.station == pytest.approx(500.0, abs=0.5) and change.edge == "bottom"
    assert change.at == pytest.approx((500.0, 56.35), abs=0.5) and change.on == "new"
    assert change.depth == pytest.approx(56.35, abs=1e-3)


@settings(max_examples=12, deadline=None)
@given(old=st.integers(20, 90), new=st.integers(20, 90))
def test_the_two_versions_changed_over_tell_the_same_with_more_for_less(rail: Build, old: int, new: int) -> None:
    parts = [rail(rest=ARCH.format(rise=rise)) for rise in (old, new)]
    there, back = compared(*parts), compared(*reversed(parts))
    assert there.is_same == back.is_same == (old == new)
    for one, other in zip(there.changes, back.changes, strict=True):
        assert one.distance == pytest.approx(other.distance, abs=ACCURACY_MM)
        assert one.more_wood != other.more_wood and one.more_wood == (new < old)
        assert one.distance == pytest.approx(abs(new - old), abs=0.005)


def test_a_part_made_longer_tells_its_end_and_not_the_edges_that_run_on(rail: Build) -> None:
    found = compared(rail(1000), rail(1025.4))
    assert [(change.key, change.even, change.more_wood) for change in found.changes] == [("edges.right", True, True)]
    assert found.changes[0].distance == pytest.approx(25.4)
    assert found.changes[0].at == pytest.approx((1025.4, 60.0))
    assert found.is_from_another_blank


def test_longer_and_wider_tells_both_sides_that_moved(rail: Build) -> None:
    found = compared(rail(1000, 120), rail(1010, 125))
    assert sorted(change.key for change in found.changes) == ["edges.right", "edges.top"]
    assert found.changes[0].distance == pytest.approx(math.hypot(10.0, 5.0))  # corner from corner


def test_a_side_that_tilts_is_told_and_not_the_edge_that_it_shortens(bench) -> None:
    square = bench('[[part]]\nname = "end"\nblank = { length = "300", width = "200" }').part
    tapered = bench('[[part]]\nname = "end"\nblank = { bottom = "300", top = "260", height = "200" }').part
    found = compared(square, tapered)
    assert sorted(change.key for change in found.changes) == ["edges.left", "edges.right"]
    assert all(not change.more_wood for change in found.changes)


def test_a_corner_that_is_rounded_now(rail: Build) -> None:
    found = compared(rail(), rail(rest='corners.top_left = { round = "30" }'))
    assert found.largest is not None and not found.largest.more_wood
    assert found.largest.distance == pytest.approx(30 * (2**0.5 - 1), abs=0.005)
    assert {change.key for change in found.changes} & {"corners.top_left"}


def test_a_hole_that_moved_is_as_far_off_as_it_moved(rail: Build) -> None:
    at = HOLE.format(name="peg", across=20, x=300, y=60), HOLE.format(name="peg", across=20, x=303, y=64)
    found = compared(*(rail(rest=rest) for rest in at))
    assert [(change.key, change.name) for change in found.changes] == [("hole[0]", "peg")]
    assert found.changes[0].distance == pytest.approx(5.0, abs=ACCURACY_MM)
    assert found.changes[0].centres == ((300.0, 60.0), (303.0, 64.0))


def test_a_hole_made_larger_is_so_all_along_and_wood_is_taken_away(rail: Build) -> None:
    found = compared(*(rail(rest=HOLE.format(name="", across=across, x=300, y=60)) for across in (20, 24)))
    assert found.changes[0].distance == pytest.approx(2.0, abs=1e-5)
    assert found.changes[0].even and not found.changes[0].more_wood and found.changes[0].centres is None


def test_holes_keep_their_names_whatever_their_order(rail: Build) -> None:
    peg, wire = HOLE.format(name="peg", across=20, x=300, y=60), HOLE.format(name="wire", across=8, x=420, y=60)
    found = compared(rail(rest=peg + wire), rail(rest=wire + peg))
    assert found.is_same


def test_a_hole_added_before_others_is_the_one_that_is_new(rail: Build) -> None:
    one, two, more = (HOLE.format(name="", across=20, x=x, y=60) for x in (300, 700, 500))
    found = compared(rail(rest=one + two), rail(rest=more + one + two))
    assert not found.changes and not found.holes_gone
    assert [hole.centre for hole in found.holes_added] == [(500.0, 60.0)]
    back = compared(rail(rest=more + one + two), rail(rest=one + two))
    assert [hole.centre for hole in back.holes_gone] == [(500.0, 60.0)] and not back.is_same


def test_each_board_is_compared_and_the_one_that_no_change_enters_is_the_same(bench) -> None:
    text = (
        '[[part]]\nname = "back"\nblank = { length = "800", width = "300" }\nglue_lines = ["200"]\n'
        'shape = "before glue"\nedges.bottom = { arch = "segmental", rise = "RISE", arch_to = "inside" }\n'
    )
    old, new = (bench(text.replace("RISE", rise)).part for rise in ("40", "46"))
    lower, upper = (
        compare(shape_of(old, one), shape_of(new, other)) for one, other in zip(old.boards, new.boards, strict=True)
    )
    assert upper.is_same and lower.new.name == "back, board 1 of 2" and lower.new.part == "back"
    assert lower.largest is not None and lower.largest.distance == pytest.approx(6.0, abs=0.01)


@settings(max_examples=12, deadline=None)
@given(
    length=st.integers(990, 1010), width=st.integers(110, 130), rise=st.integers(20, 60), x=st.integers(40, 70),
    across=st.integers(5, 40),
)  # fmt: skip
def test_the_largest_distance_is_that_of_geos_and_wood_is_where_geos_finds_it(
    rail: Build, length: int, width: int, rise: int, x: int, across: int
) -> None:
    hole = HOLE.format(name="", across=20, x=60, y=60), HOLE.format(name="", across=across, x=x, y=70)
    old = rail(rest=f"{ARCH.format(rise=40)}\n{hole[0]}")
    new = rail(length, width, f"{ARCH.format(rise=rise)}\n{hole[1]}")
    found = compared(old, new)
    a, b = polygon(old), polygon(new)
    edges = [change for change in found.changes if not change.key.startswith("hole")]
    expected = max(farthest_vertex(a, b), farthest_vertex(b, a))
    assert max((change.distance for change in edges), default=0.0) == pytest.approx(expected, abs=0.02)
    for change in found.changes:
        wood, none = (b, a) if change.more_wood else (a, b)
        middle = shapely.Point([(p + q) / 2 for p, q in zip(change.at, change.nearest, strict=True)])
        assert wood.distance(middle) <= 0.001 and not none.buffer(-0.001).contains(middle)


@settings(max_examples=10, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck))
@given(pattern_files(calm=True), pattern_files(calm=True))
def test_any_two_parts_are_compared_and_no_point_of_either_is_farther_off_than_is_said(first: str, second: str) -> None:
    """Parts at random: tables, arches, cuts, corners, boards; GEOS measures points two millimetres apart."""
    for old, new in itertools.product(made(first), made(second)):
        found = compare(shape_of(old), shape_of(new))
        said = max((change.distance for change in found.changes if not change.key.startswith("hole")), default=0.0)
        a, b = polygon(old), polygon(new)
        sampled = max(farthest_vertex(a, b), farthest_vertex(b, a))
        assert sampled - ACCURACY_MM - 0.002 <= said <= sampled + 1.0
        assert compare(shape_of(old), shape_of(old)).is_same


def made(text: str) -> list[Part]:
    """The parts of a pattern file that can be made."""
    display, parts = Display("mm"), []
    for spec in (examine(PatternSource(text, "piece.toml")).piece or Piece("", "mm", ())).parts:
        with contextlib.suppress(PatternError):
            parts.append(build(spec, display))
    return parts
