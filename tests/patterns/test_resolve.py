"""From the tables of a pattern file to a piece: sizes, overrides, blanks, edges and details worked out and checked."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns import patternfile
from patterns.arches import KINDS
from patterns.memory import Memory
from patterns.patternfile import PatternSource
from patterns.piece import BlankSpec, PartSpec, Piece, Size

INCH = 25.4
HEAD = 'curvewright = 1\ntitle = "Stool"\nunits = "in"\n'
PART = '[[part]]\nname = "seat"\nblank = { length = "12", width = "9" }\n'


def piece_of(text: str, **overrides: str) -> Piece:
    return patternfile.load(PatternSource(text, "stool.toml"), overrides).piece


def part_of(lines: str, blank: str = '{ length = "12", width = "9" }') -> PartSpec:
    return piece_of(f'{HEAD}[[part]]\nname = "seat"\nblank = {blank}\n{lines}\n').parts[0]


def problems(text: str, **overrides: str) -> list[str]:
    return [str(p) for p in patternfile.examine(PatternSource(text, "stool.toml"), overrides).problems]


def part_problems(lines: str, blank: str = '{ length = "12", width = "9" }') -> list[str]:
    return [
        found.removeprefix('part "seat", ')
        for found in problems(f'{HEAD}[[part]]\nname = "seat"\nblank = {blank}\n{lines}\n')
    ]


def flat(blank: BlankSpec) -> list[float]:
    return [figure for vertex in blank.vertices for figure in vertex]


def sizes_of(lines: str, **overrides: str) -> dict[str, Size]:
    return {size.name: size for size in piece_of(f"{HEAD}[sizes]\n{lines}\n{PART}", **overrides).sizes}


def size_problems(lines: str, **overrides: str) -> list[str]:
    return problems(f"{HEAD}[sizes]\n{lines}\n{PART}", **overrides)


# -------------------------------------------------------------------- sizes


def test_sizes_are_worked_out_in_the_order_they_need_and_kept_in_the_order_of_the_file() -> None:
    sizes = sizes_of('seat = "leg * 2 - edge"\nleg = "9 1/2"\nedge = { value = "leg / 19", note = "thickness" }')
    assert list(sizes) == ["seat", "leg", "edge"]
    assert sizes["edge"].value == pytest.approx(INCH / 2)
    assert sizes["seat"].value == pytest.approx(18.5 * INCH)
    assert sizes["edge"].note == "thickness"


def test_kinds_of_sizes_follow_from_what_is_written() -> None:
    sizes = sizes_of(
        'lean = "7.5 deg"\nslope = "1:8"\nlegs = { value = 3, kind = "number" }\n'
        'tilt = { value = 5, kind = "angle" }\nlong = 9\nbare = 1.5'
    )
    kinds = {name: size.kind for name, size in sizes.items()}
    assert kinds == {
        "lean": "angle",
        "slope": "angle",
        "legs": "number",
        "tilt": "angle",
        "long": "length",
        "bare": "length",
    }
    assert sizes["lean"].value == pytest.approx(math.radians(7.5))
    assert sizes["slope"].value == pytest.approx(math.atan(1 / 8))
    assert sizes["legs"].value == 3
    assert sizes["bare"].value == pytest.approx(1.5 * INCH)


@pytest.mark.parametrize("written", ["0.75", "1.50", "12.0", "-0.5"])
def test_toml_figures_are_kept_as_written(written: str) -> None:
    """A float is read as the decimal it is, not as the nearest binary number printed again."""
    size = sizes_of(f"a = {written}")["a"]
    assert size.written == written
    assert size.value == pytest.approx(float(written) * INCH, rel=1e-15)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("a = nan", '"nan" is no measure'),
        ("a = -inf", '"-inf" is no measure'),
        ("a = 1e400", "no exponent"),
        ("a = 1e3", "has an exponent: write 1000"),
        ('a = "3/0"', "divides by 0"),
        ('a = "1e400"', "no exponent"),
        ('a = ""', "holds nothing"),
        (f'a = "{"(" * 200}1{")" * 200}"', "brackets inside one another"),
        (f'a = "{"(" * 5000}1{")" * 5000}"', "500 are the most"),
        ('a = "2 in * 2 in"', "is an area"),
        ('a = { value = "3", kind = "lenght" }', 'the nearest is "length"'),
        ('a = { least = "3" }', "is missing"),
    ],
)
def test_values_that_are_none(line: str, words: str) -> None:
    found = size_problems(line)
    assert len(found) == 1
    assert found[0].startswith("sizes.a")
    assert words in found[0]


def test_products_that_explode_are_refused_where_they_do() -> None:
    powers = "\n".join(f'a{k} = {{ value = "a{k - 1} * a{k - 1}", kind = "number" }}' for k in range(1, 30))
    found = size_problems(f'a0 = {{ value = "10", kind = "number" }}\n{powers}')
    assert len(found) == 1
    assert "sizes.a" in found[0]


def test_an_unknown_size_in_a_formula_names_the_sizes_there_are() -> None:
    assert size_problems('width = "9"\nhalf = "widht / 2"')[0].startswith('sizes.half: "widht / 2" uses widht')
    in_part = part_problems("", blank='{ length = "widht", width = 9 }')
    assert in_part[0].startswith('blank, length: "widht" uses widht')


def test_a_circle_is_shown_once_and_what_hangs_on_it_is_not_told() -> None:
    found = size_problems('x = "1"\na = "b + x"\nb = "2 * c"\nc = "a"\nd = "a + 1"\nself = "self + 1"')
    assert sorted(found) == [
        "sizes.a: sizes refer to each other in a circle: a -> b -> c -> a",
        "sizes.self: sizes refer to each other in a circle: self -> self",
    ]


def test_a_circle_through_a_limit() -> None:
    assert size_problems('a = { value = "1", most = "b" }\nb = "a + 1"') == [
        "sizes.a: sizes refer to each other in a circle: a -> b -> a"
    ]


@settings(max_examples=40, deadline=None)
@given(st.permutations(range(8)), st.data())
def test_circles_are_found_exactly_where_there_are_some(order: list[int], data: st.DataObject) -> None:
    """A graph with edges only from later to earlier has no circle; one edge the other way along a path makes one."""
    needs = {k: data.draw(st.lists(st.sampled_from(range(k)), max_size=3, unique=True)) if k else [] for k in range(8)}
    lines = {k: f's{k} = "{" + ".join([*(f"s{n}" for n in needs[k]), "1"])}"' for k in range(8)}
    assert size_problems("\n".join(lines[k] for k in order)) == []
    deep = next((k for k in range(7, 0, -1) if needs[k]), None)
    if deep is not None:
        first = needs[deep][0]
        lines[first] = f's{first} = "s{deep} + 1"'
        found = size_problems("\n".join(lines[k] for k in order))
        assert any("in a circle" in line and f"s{deep}" in line and f"s{first}" in line for line in found)


def test_limits_hold_for_the_file_and_for_what_is_asked_for() -> None:
    line = 'rise = { value = "2", least = "3/4", most = "base * 2" }\nbase = "1 1/2"'
    assert sizes_of(line)["rise"].most == pytest.approx(3 * INCH)
    assert size_problems(line, rise="4") == ["size asked for, rise: 4 is more than the most that rise may be, base * 2"]
    assert size_problems(line, rise="1/2") == ["size asked for, rise: 1/2 is less than the least that rise may be, 3/4"]
    assert size_problems(line, base="15/16") == [
        "sizes.rise, value: 2 is more than the most that rise may be, base * 2"
    ]
    assert size_problems(line, base="1/4")[0].startswith("sizes.rise, least: 3/4 is more than most = base * 2")


def test_a_size_on_its_limit_is_within_it() -> None:
    assert size_problems('a = { value = "0.1 * 3", least = "0.3", most = "0.3" }') == []


def test_limits_are_of_the_size_s_own_kind() -> None:
    assert "is a length, where an angle is wanted" in size_problems('a = { value = "5 deg", least = "2 in" }')[0]
    assert sizes_of('a = { value = "5 deg", least = "2" }')["a"].least == pytest.approx(math.radians(2))


def test_what_is_asked_for_stands_in_place_of_the_file_s_value() -> None:
    sizes = sizes_of(
        'rise = { value = "2", note = "how high" }\nspan = "rise * 4"', rise="span0 / 2 + 10 mm" if 0 else "1'"
    )
    assert sizes["rise"].value == pytest.approx(12 * INCH)
    assert sizes["rise"].written == "1'"
    assert (sizes["rise"].overridden, sizes["span"].overridden) == (True, False)
    assert sizes["rise"].note == "how high"
    assert sizes["span"].value == pytest.approx(48 * INCH)


def test_what_is_asked_for_may_be_a_formula_of_other_sizes() -> None:
    assert sizes_of('rise = "2"\nspan = "10"', rise="span / 4")["rise"].value == pytest.approx(2.5 * INCH)
    assert "in a circle: rise -> span -> rise" in size_problems('rise = "2"\nspan = "rise"', rise="span / 4")[0]


def test_what_is_asked_for_mends_a_broken_size() -> None:
    assert size_problems('rise = "3/0"', rise="2") == []


def test_a_size_asked_for_that_does_not_exist() -> None:
    found = size_problems('arch_rise = "2"', arch_rize="3")
    assert found == ['size asked for, arch_rize: there is no size "arch_rize"; the nearest is "arch_rise"']
    assert problems(HEAD + PART, rise="3") == ['size asked for, rise: there is no size "rise"; the file has no sizes']


def test_bad_values_asked_for_are_told_in_their_place() -> None:
    found = size_problems('rise = "2"', rise="22-13/16 + 1")
    assert found[0].startswith('size asked for, rise: "22-13/16 + 1"')


@pytest.mark.parametrize("name", ["tan", "in", "2nd", "höhe", "a.b", '"two words"', '"a\\nb"'])
def test_names_that_no_size_can_have(name: str) -> None:
    found = size_problems(
        f'{name if name[0] == chr(34) or (name.isalnum() and name.isascii()) else chr(34) + name + chr(34)} = "1"'
    )
    assert len(found) == 1
    assert found[0].startswith("sizes.")
    assert found[0].isprintable()


def test_more_sizes_than_anyone_oversees() -> None:
    lines = "\n".join(f"a{k} = 1" for k in range(1001))
    assert size_problems(lines) == ["sizes: there are 1001 sizes; 1000 is the most"]


def test_readings_say_how_each_value_was_read() -> None:
    loaded = patternfile.load(PatternSource(f'{HEAD}[sizes]\na = "22-13/16"\n{PART}', "stool.toml"))
    by_place = {placed.place: placed.reading for placed in loaded.readings}
    assert by_place["sizes.a"].worth_saying
    assert "22 13/16 in" in by_place["sizes.a"].echo
    assert not by_place['part "seat", blank, length'].worth_saying


# -------------------------------------------------------------------- blanks


def test_rectangle() -> None:
    blank = part_of("").blank
    assert flat(blank) == pytest.approx([0, 0, 12 * INCH, 0, 12 * INCH, 9 * INCH, 0, 9 * INCH])
    assert blank.edge_names == ("bottom", "right", "top", "left")
    assert blank.corner_names == ("bottom_left", "bottom_right", "top_right", "top_left")
    assert [(key, given.written) for key, given in blank.figures] == [("length", "12"), ("width", "9")]


def test_trapezoid_leans_alike_on_both_sides_unless_told() -> None:
    blank = part_of("", blank='{ bottom = "10 mm", top = "14 mm", height = "7 mm" }').blank
    assert flat(blank) == pytest.approx([0, 0, 10, 0, 12, 7, -2, 7])


def test_trapezoid_with_an_overhang() -> None:
    blank = part_of("", blank='{ bottom = "10 mm", top = "14 mm", height = "7 mm", overhang_left = "0" }').blank
    assert blank.vertices == ((0.0, 0.0), (10.0, 0.0), (14.0, 7.0), (0.0, 7.0))
    leaning = part_of("", blank='{ bottom = "10 mm", top = "10 mm", height = "7 mm", overhang_left = "-3 mm" }').blank
    assert leaning.vertices == ((0.0, 0.0), (10.0, 0.0), (13.0, 7.0), (3.0, 7.0))


def test_polygon_with_and_without_names() -> None:
    vertices = 'vertices = [["0", "0"], ["6", "0"], ["0", "4"]]'
    blank = part_of("", blank=f"{{ {vertices} }}").blank
    assert blank.edge_names == ("edge_1", "edge_2", "edge_3")
    assert blank.corner_names == ("corner_1", "corner_2", "corner_3")
    named = part_of("edges.slant = { leave = 1 }", blank=f'{{ {vertices}, edge_names = ["foot", "slant", "back"] }}')
    assert named.blank.edge_names == ("foot", "slant", "back")
    assert named.edges[0].name == "slant"


@pytest.mark.parametrize(
    ("blank", "words"),
    [
        ("{}", "blank: a blank is one of"),
        ("{ length = 12 }", 'blank, width: is missing beside "length"'),
        ("{ length = 12, width = 9, height = 3 }", "blank, height: does not belong to a rectangle"),
        ("{ length = 12, width = 0 }", "blank, width: must be more than 0, not 0"),
        ('{ length = "3 - 4", width = 9 }', "blank, length: must be more than 0, not 3 - 4, which is negative"),
        ("{ bottom = 1, top = 1, height = -1 }", "blank, height: must be more than 0, not -1"),
        ("{ vertices = [[0, 0], [1, 0]] }", "at least three vertices"),
        ("{ vertices = [[0, 0], [0, 3], [3, 0]] }", "run clockwise"),
        ("{ vertices = [[0, 0], [3, 0], [0, 3], [3, 3]] }", "crosses"),
        ("{ vertices = [[0, 0], [3, 0], [3, 0], [0, 3]] }", "same point"),
        ("{ vertices = [[0, 0], [3, 0], [0, 3]], edge_names = ['a', 'b'] }", "2 names for 3 sides"),
        ("{ vertices = [[0, 0], [3, 0], [0, 3]], edge_names = ['a', 'b', 'a'] }", '"a" is also name 1'),
        ("{ vertices = [[0, 0], [3, 0], [0, 3]], edge_names = ['a', 'b', 'c d'] }", '"c d" must be letters'),
        ('{ length = "20000 mm", width = 9 }', "is the unit right?"),
    ],
)
def test_blanks_that_are_none(blank: str, words: str) -> None:
    found = part_problems("", blank=blank)
    assert len(found) == 1, found
    assert words in found[0]


# -------------------------------------------------------------------- edges


def test_an_edge_as_one_sweep_a_list_of_sweeps_or_allowances_alone() -> None:
    part = part_of(
        'edges.top = { arch = "segmental", rise = "1 1/4" }\n'
        'edges.bottom = [{ points = [[0, 1], [2, 0]], to = 2, leave = "1/32" }, '
        '{ arch = "ogee", rise = 1, from = 4, to = 8, arch_to = "inside" }]\n'
        "edges.left = { fit = true }\n"
    )
    edges = {edge.name: edge for edge in part.edges}
    top = edges["top"].sweeps[0]
    assert (top.form, top.arch, top.arch_to) == ("arch", "segmental", "edge")
    assert top.rise is not None
    assert top.rise.value == pytest.approx(1.25 * INCH)
    assert top.rise.place == 'part "seat", edges.top, rise'
    first, second = edges["bottom"].sweeps
    assert [(s.value, d.value) for s, d in first.table] == [(0, INCH), (2 * INCH, 0)]
    assert second.place == 'part "seat", edges.bottom, sweep 2'
    assert second.arch_to == "inside"
    assert edges["bottom"].allowance.leave is not None
    assert edges["left"].sweeps == ()
    assert edges["left"].allowance.fit


def test_tables_of_an_edge_with_all_their_options() -> None:
    part = part_of(
        'edges.top = { heights = [["-1", "8"], ["1", "8 1/2"]], stations_from = "middle", '
        'ends = ["0", "1:8"], mirror = true }\n'
        'edges.bottom = { measured = [[0, 0], [4, 1], [8, 1], [12, 0]], within = "1/32", '
        'leave_out = [[5, 6]], ends = "clamped" }\n'
    )
    top, bottom = (edge.sweeps[0] for edge in part.edges)
    assert (top.form, top.table_is, top.stations_from, top.mirror) == ("heights", "heights", "middle", True)
    assert isinstance(top.ends, tuple)
    assert [angle.value for angle in top.ends] == pytest.approx([0.0, math.atan(1 / 8)])
    assert (bottom.form, bottom.table_is, bottom.ends) == ("measured", "depths", "clamped")
    assert bottom.within is not None
    assert bottom.within.value == pytest.approx(INCH / 32)
    assert [(a.written, b.written) for a, b in bottom.leave_out] == [("5", "6")]


def test_round_over_and_its_defaults() -> None:
    part = part_of('edges.top = { round_over = { radius = "1/4", faces = "outside", from = 1, to = 2 } }')
    rounded = part.edges[0].allowance.round_over
    assert rounded is not None
    assert rounded.radius.value == pytest.approx(INCH / 4)
    assert rounded.faces == "outside"
    assert rounded.start is not None
    assert rounded.end is not None
    plain = part_of('edges.top = { round_over = { radius = "1/4" } }').edges[0].allowance.round_over
    assert plain is not None
    assert (plain.faces, plain.start, plain.end) == ("both", None, None)


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ("edges.botom = { fit = true }", 'edges.botom: the blank has no edge "botom"; the nearest is "bottom"'),
        ('edges.top = { arch = "segmental" }', "edges.top, rise: is missing; an arch needs a rise"),
        ('edges.top = { arch = "gothic", rise = 1 }', "edges.top, arch: must be"),
        ('edges.top = { arch = "ogee", rise = 0 }', "edges.top, rise: must be more than 0, not 0"),
        ("edges.top = { rise = 1 }", 'has "rise", but to make a sweep it needs one of'),
        ("edges.top = { mirror = true }", 'has "mirror", but to make a sweep'),
        ('edges.top = { arch = "ogee", rise = 1, points = [[0, 0], [1, 1]] }', "one form, not arch and points"),
        ("edges.top = { points = [[0, 0], [1, 1]], within = 1 }", 'within: does not go with "points"'),
        ("edges.top = { points = [[0, 0], [1, 1]], rise = 1 }", 'rise: does not go with "points", only with "arch"'),
        ('edges.top = { arch = "ogee", rise = 1, ends = "natural" }', 'ends: does not go with "arch"'),
        ("edges.top = { measured = [[0, 0], [1, 1], [2, 1], [3, 0]] }", "within: is missing"),
        ("edges.top = { measured = [[0, 0], [1, 1]], within = 1 }", "has 2 of the 4 points"),
        ("edges.top = { points = [[0, 0]] }", "has 1 of the 2 points"),
        ("edges.top = { points = [] }", "has 0 of the 2 points"),
        ("edges.top = { points = [[0, 0], [1, 1]], from = 3, to = 3 }", "edges.top, to: 3 is not beyond from = 3"),
        ('edges.top = { points = [[0, 0], [1, 1]], ends = "soft" }', 'ends: must be "clamped" or "natural"'),
        ("edges.top = { points = [[0, 0], [1, 1]], ends = [1] }", "ends: must be"),
        ("edges.top = { leave = 0 }", "edges.top, leave: must be more than 0, not 0"),
        ("edges.top = []", "is an empty list"),
        (
            "edges.top = [{ fit = true }, { leave = 1 }, { leave = 2 }]",
            "sweep 3, leave: is said twice for this edge, first in sweep 2",
        ),
        ("edges.top = { round_over = { radius = 1, from = 3, to = 2 } }", "round_over, to: 2 is not beyond from = 3"),
        ("edges.top = { round_over = {} }", "round_over, radius: is missing"),
        (
            "edges.top = { measured = [[0, 0], [1, 1], [2, 1], [3, 0]], within = 1, leave_out = [[2, 1]] }",
            "leave_out, stretch 1, to: 1 is not beyond from = 2",
        ),
    ],
)
def test_edges_that_can_t_be(lines: str, words: str) -> None:
    found = part_problems(lines)
    assert len(found) == 1, found
    assert words in found[0]


def test_repeated_and_unordered_stations_show_both_places() -> None:
    found = part_problems('edges.top = { points = [["0", 0], ["3", 1], ["2 + 1", 1], ["2 1/2", 2], ["4", 2]] }')
    assert found == [
        "edges.top, points, point 3, station: 2 + 1 repeats 3 (point 2); stations must rise",
        "edges.top, points, point 4, station: 2 1/2 comes before 2 + 1 (point 3); stations must rise",
    ]


def test_every_kind_of_arch_is_taken() -> None:
    for kind in KINDS:
        assert part_of(f'edges.top = {{ arch = "{kind}", rise = 1 }}').edges[0].sweeps[0].arch == kind


def test_edges_are_checked_although_the_blank_is_wrong() -> None:
    found = part_problems(
        "edges.tpo = { fit = true }\ncorners.topleft = { round = 1 }", blank="{ length = 0, width = 9 }"
    )
    assert [line.split(":")[0] for line in found] == ["blank, length", "edges.tpo", "corners.topleft"]


def test_a_table_of_too_many_points() -> None:
    rows = ", ".join(f"[{k}, 0]" for k in range(2001))
    assert part_problems(f"edges.top = {{ points = [{rows}] }}") == [
        "edges.top, points: has 2001 entries; 2000 is the most"
    ]


# -------------------------------------------------------------------- cuts, corners, holes, marks


def test_cuts() -> None:
    cut = part_of(
        '[[part.cut]]\nname = "side"\nfrom = ["left", "3"]\nto = ["top", "5"]\npoints = [["2", "4"]]\n'
        'ends = "clamped"\nmirror = true\nwaste = "top_left"'
    ).cuts[0]
    assert (cut.start_edge, cut.start_station.written) == ("left", "3")
    assert (cut.end_edge, cut.end_station.written) == ("top", "5")
    assert [(x.value, y.value) for x, y in cut.points] == [(2 * INCH, 4 * INCH)]
    assert (cut.name, cut.ends, cut.mirror, cut.waste) == ("side", "clamped", True, "top_left")
    assert cut.place == 'part "seat", cut 1'


def test_corners() -> None:
    part = part_of(
        'corners.top_left = { round = 1 }\ncorners.top_right = { notch = ["1/2", "3/4"] }\ncorners.bottom_left.chamfer = 2'
    )
    found = {c.corner: (c.form, [round(a.value / INCH, 9) for a in c.amounts]) for c in part.corners}
    assert found == {"top_left": ("round", [1]), "top_right": ("notch", [0.5, 0.75]), "bottom_left": ("chamfer", [2])}


def test_holes() -> None:
    circle, long, free = part_of(
        '[[part.hole]]\ncircle = "1"\nat = [2, 3]\nname = "peg"\nmirror = true\n'
        "[[part.hole]]\nelongated = { length = 3, width = 1, angle = 45 }\nat = [6, 3]\n"
        "[[part.hole]]\npoints = [[1, 1], [2, 1], [2, 2]]\n"
    ).holes
    assert circle.diameter is not None
    assert (circle.form, circle.diameter.value, circle.name, circle.mirror) == ("circle", INCH, "peg", True)
    assert circle.at is not None
    assert [v.value for v in circle.at] == pytest.approx([2 * INCH, 3 * INCH])
    assert long.angle is not None
    assert long.angle.value == pytest.approx(math.pi / 4)
    assert free.form == "points"
    assert len(free.points) == 3


def test_marks() -> None:
    centre, line, note = part_of(
        "[[part.mark]]\ncentre = [1, 2]\n[[part.mark]]\nline = [[1, 1], [2, 2]]\n"
        '[[part.mark]]\nnote = "this way up"\nat = [3, 3]\n'
    ).marks
    assert (centre.form, len(centre.points)) == ("centre", 1)
    assert (line.form, len(line.points)) == ("line", 2)
    assert (note.form, note.text, len(note.points)) == ("note", "this way up", 1)


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ('[[part.cut]]\nfrom = ["left", 3]', "cut 1, to: is missing"),
        (
            '[[part.cut]]\nfrom = ["lfet", 3]\nto = ["top", 5]',
            'cut 1, from, edge: the blank has no edge "lfet"; the nearest is "left"',
        ),
        ('[[part.cut]]\nfrom = ["left", -3]\nto = ["top", 5]', "cut 1, from, station: must be 0 or more, not -3"),
        ('[[part.cut]]\nfrom = "left"\nto = ["top", 5]', "cut 1, from: must be a list"),
        ('[[part.cut]]\nfrom = ["left", 1]\nto = ["top", 5]\nwaste = "topleft"', 'the nearest is "top_left"'),
        (
            "corners.topleft = { round = 1 }",
            'corners.topleft: the blank has no corner "topleft"; the nearest is "top_left"',
        ),
        ("corners.top_left = {}", 'corners.top_left: needs one of "round", "chamfer" or "notch"'),
        ("corners.top_left = { round = 1, chamfer = 1 }", 'has "round" and "chamfer"; it can be only one'),
        ("corners.top_left = { round = 0 }", "corners.top_left, round: must be more than 0, not 0"),
        ("corners.top_left = { notch = [1, -1] }", "notch, along the edge before: must be more than 0, not -1"),
        ("[[part.hole]]\nmirror = true", 'hole 1: needs one of "circle", "elongated" or "points"'),
        ("[[part.hole]]\ncircle = 1", "hole 1, at: is missing"),
        ("[[part.hole]]\ncircle = 0\nat = [1, 1]", "hole 1, circle: must be more than 0, not 0"),
        ("[[part.hole]]\nelongated = { length = 1, width = 1 }\nat = [1, 1]", "for a round hole use circle"),
        ("[[part.hole]]\npoints = [[1, 1], [2, 2]]", "has 2 of the 3 points"),
        (
            "[[part.hole]]\npoints = [[1, 1], [2, 2], [1, 2], [1, 1]]",
            "point 1: [1, 1] is the same point as point 4; the curve closes by itself",
        ),
        ("[[part.hole]]\npoints = [[1, 1], [2, 2], [1, 2]]\nat = [1, 1]", "hole 1, at: does not go with points"),
        ("[[part.mark]]\nat = [1, 1]", 'mark 1: needs one of "centre", "line" or "note"'),
        ('[[part.mark]]\nnote = "up"', "mark 1, at: is missing"),
        ('[[part.mark]]\nnote = " "\nat = [1, 1]', "mark 1, note: is empty"),
        ("[[part.mark]]\ncentre = [1, 1]\nat = [1, 1]", 'mark 1, at: goes with "note" only'),
        ("[[part.mark]]\nline = [[1, 1], [1, 1]]", "a line needs a length"),
        ("[[part.mark]]\nline = [[1, 1]]", "mark 1, line: must be"),
        ("thickness = 0", "thickness: must be more than 0, not 0"),
        ("grain = 'acros'", 'the nearest is "across"'),
        ("grain = '3 in'", "grain: "),
        ("glue_lines = [3, 3]", "glue_lines, glue line 2: 3 repeats 3 (glue line 1); glue lines must rise"),
        ("glue_lines = [0]", "glue_lines, glue line 1: must be more than 0, not 0"),
        ("shape = 'before glue'", 'shape: "before glue" needs glue_lines'),
    ],
)
def test_details_that_can_t_be(lines: str, words: str) -> None:
    found = part_problems(lines)
    assert len(found) == 1, found
    assert words in found[0]


def test_grain_along_across_or_at_an_angle() -> None:
    assert part_of("").grain == "along"
    assert part_of('grain = "across"').grain == "across"
    for written in ("30", '"30 deg"'):
        grain = part_of(f"grain = {written}").grain
        assert not isinstance(grain, str)
        assert grain.value == pytest.approx(math.radians(30))


def test_everything_else_of_a_part() -> None:
    part = part_of(
        'quantity = 4\nthickness = "3/4"\nwood = "ash"\nglue_lines = [3, 6]\nshape = "before glue"\nnotes = ["a", "b"]'
    )
    assert (part.quantity, part.wood, part.shape, part.notes) == (4, "ash", "before glue", ("a", "b"))
    assert part.thickness is not None
    assert part.thickness.value == pytest.approx(0.75 * INCH)
    assert [line.value for line in part.glue_lines] == pytest.approx([3 * INCH, 6 * INCH])


@settings(max_examples=50, deadline=None)
@given(scale=st.fractions(min_value="1/4", max_value=4, max_denominator=16))
def test_scaling_the_unit_scales_the_blank(scale: object) -> None:
    """The same file with one size changed: what refers to it changes in proportion, what does not stays."""
    text = f'{HEAD}[sizes]\nu = "1"\n[[part]]\nname = "a"\nblank = {{ length = "12 * u", width = "9" }}\n'
    blank = piece_of(text, u=str(scale)).parts[0].blank
    assert blank.vertices[2][0] == pytest.approx(12 * INCH * float(scale))  # type: ignore[arg-type]
    assert blank.vertices[2][1] == pytest.approx(9 * INCH)


# ---------------------------------------------------------------- what is kept of a file

STOOL = """{head}[sizes]
rise = "{rise}"
tilt = {{ value = "10 deg", most = "{most}" }}
[[part]]
name = "seat"
blank = {{ length = "12", width = "rise + 9" }}
[[part]]
name = "leg"
blank = {{ length = "14", width = "{width}" }}
grain = "tilt"
"""


def stool(memory: Memory, **values: str) -> patternfile.Examined:
    given = {"head": HEAD, "rise": "1", "most": "20 deg", "width": "2"} | values
    source = PatternSource(STOOL.format(**given), "stool.toml")
    examined = patternfile.examine(source, {}, memory)
    assert examined == patternfile.examine(source), "as without a memory"
    memory.forget()
    return examined


def parts_of(examined: patternfile.Examined) -> tuple[PartSpec, ...]:
    return examined.piece.parts if examined.piece else ()


def test_a_part_is_worked_out_anew_where_its_table_or_a_size_in_it_changed() -> None:
    memory = Memory()
    seat, leg = parts_of(stool(memory))
    higher, same = parts_of(stool(memory, rise="2"))
    assert higher.blank != seat.blank
    assert same is leg
    same, wider = parts_of(stool(memory, rise="2", width="3"))
    assert same is higher
    assert wider.blank != leg.blank


def test_nothing_is_kept_of_a_part_with_a_mistake_in_it_or_in_its_sizes() -> None:
    memory = Memory()
    stool(memory)
    assert len(stool(memory, width="2 lb").problems) == 1
    assert len(stool(memory, width="2 lb").problems) == 1
    assert len(stool(memory, most="5 deg").problems) == 1
    assert len(stool(memory, rise="0 * ").problems) == 1
    in_mm = stool(memory, head=HEAD.replace('"in"', '"mm"'))
    assert parts_of(in_mm)[1] != parts_of(stool(memory))[1], "bare numbers are read in the file's unit"
