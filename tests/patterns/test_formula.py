"""Arithmetic on named sizes: against Python's own fractions, against units reckoned by hand, and under attack."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from patterns import formula
from patterns.formula import FormulaError, Reading, Wanted
from patterns.measure import Quantity, Units

QUICK = settings(max_examples=100, deadline=None)
NAMES = {
    "body_width": Quantity(254.0, "length"),
    "arch_rise": Quantity(44.45, "length"),
    "panel": Quantity(64516.0, "area"),
    "lean": Quantity(math.radians(7.5), "angle"),
    "boards": Quantity(3.0, "number"),
}


def read(text: str, wanted: Wanted = "length", units: Units = "in") -> Reading:
    return formula.evaluate(text, wanted=wanted, units=units, names=NAMES)


def value(text: str, wanted: Wanted = "length", units: Units = "in") -> float:
    return read(text, wanted, units).value


def refusal(text: str, wanted: Wanted = "length") -> str:
    with pytest.raises(FormulaError) as caught:
        read(text, wanted)
    return caught.value.what


# ------------------------------------------------------------------------------------------------- values


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("body_width / 2 - 3/8", 4.625),
        ("body_width + 7", 17),
        ("7 + body_width", 17),
        ("body_width * 3/8", 3.75),
        ("3/8 * body_width", 3.75),
        ("body_width / (3/8 * 2)", 10 / 0.75),
        ("body_width / 1½", 10 / 1.5),
        ("body_width - 1 1/2", 8.5),
        ("body_width-arch_rise", 8.25),
        ("body_width -1/2", 9.5),
        ("-body_width + 11", 1),
        ("2 * -3", -6),
        ("2 - -3", 5),
        ("--3", 3),
        ("2 + 3 * 4", 14),
        ("(2 + 3) * 4", 20),
        ("20 / 2 / 5", 2),
        ("20 - 2 - 5", 13),
        ("3 / 4", 0.75),
        ("min(body_width, 8)", 8),
        ("max(12, body_width, arch_rise)", 12),
        ("abs(arch_rise - body_width)", 8.25),
        ("sqrt(panel)", 10),
        ("sqrt(3 in * 3 in + 4 in * 4 in)", 5),
        ("sqrt(body_width * body_width - 36)", 8),
        ("sqrt(9)", 3),
        ("panel / body_width", 10),
        ("panel / 4 in", 25),
        ("body_width * sin(30)", 5),
        ("body_width * sin(30 deg)", 5),
        ("10 * sin(30)", 5),
        ("10 / cos(60)", 20),
        ("body_width * tan(45)", 10),
        ("body_width * sin(atan(3/4))", 6),
        ("body_width * cos(asin(0.6))", 8),
        ("body_width / boards * 3", 10),
        ("body_width * arch_rise / body_width", 1.75),
        ("arch_rise / body_width * 10", 1.75),
        ("1' 2\" + body_width", 24),
        ("body_width + 25.4 mm", 11),
    ],
)
def test_lengths_worked_out(text: str, inches: float) -> None:
    assert value(text) == pytest.approx(inches * 25.4, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("lean * 2", 15), ("lean + 2.5", 10), ("180 - 2 * lean", 165), ("lean / 3", 2.5), ("2 * 3", 6), ("atan(1)", 45),
        ("atan(arch_rise / body_width)", math.degrees(math.atan(0.175))), ("acos(0)", 90), ("asin(-1)", -90),
        ("max(lean, 5)", 7.5), ("boards * 1 deg", 3), ("90 deg - lean", 82.5),
    ],
)  # fmt: skip
def test_angles_worked_out(text: str, expected: float) -> None:
    assert math.degrees(value(text, "angle")) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("body_width / arch_rise", 10 / 1.75), ("boards * 2 + 1", 7), ("2 / 4", 0.5), ("sin(30)", 0.5),
        ("cos(lean * 8)", 0.5),
        ("body_width / 5", None), ("5 / body_width", 0.5), ("lean / 2.5 deg", 3), ("15 / lean", 2),
        ("sqrt(boards * 3)", 3),
        ("min(boards, 2)", 2), ("panel / body_width / body_width", 1), ("tan(boards * 15)", 1),
        ("cos(180)", -1), ("sin(210)", -0.5), ("sin(-90)", -1), ("cos(720 deg)", 1), ("tan(135)", -1),
    ],
)  # fmt: skip
def test_numbers_worked_out(text: str, expected: float | None) -> None:
    if expected is None:
        assert "is a length" in refusal(text, "number")
    else:
        assert value(text, "number") == pytest.approx(expected, rel=1e-12)


@dataclass(frozen=True)
class Tree:
    """A formula of plain numbers with the value that Python's fractions give it."""

    text: str
    value: Fraction


def _numerals() -> st.SearchStrategy[Tree]:
    whole, over, under = st.integers(0, 99), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64, 3])
    return st.one_of(
        whole.map(lambda n: Tree(str(n), Fraction(n))),
        st.builds(lambda a, b: Tree(f"({a}/{b})", Fraction(a, b)), over, under),
        st.builds(lambda n, a, b: Tree(f"({n} {a}/{b})", n + Fraction(a, b)), whole, over, under),
        st.builds(lambda n, d: Tree(f"{n}.{d:02d}", n + Fraction(d, 100)), whole, whole),
        whole.map(lambda n: Tree(f"{n}¾", n + Fraction(3, 4))),
    )


def _joined(children: st.SearchStrategy[Tree]) -> st.SearchStrategy[Tree]:
    return st.one_of(
        st.builds(lambda a, b: Tree(f"({a.text} + {b.text})", a.value + b.value), children, children),
        st.builds(lambda a, b: Tree(f"({a.text} - {b.text})", a.value - b.value), children, children),
        st.builds(lambda a, b: Tree(f"{a.text} * {b.text}", a.value * b.value), children, children),
        st.builds(lambda a, b: Tree(f"({a.text} / {b.text})", a.value / b.value), children, children.filter(_simple)),
        st.builds(lambda a, b: Tree(f"max({a.text}, {b.text})", max(a.value, b.value)), children, children),
        children.map(lambda a: Tree(f"abs(-{a.text})", abs(a.value))),
    )


def _simple(tree: Tree) -> bool:
    """Whether a divisor's text stands as one factor and is not 0."""
    return tree.value != 0 and " * " not in tree.text


@QUICK
@given(st.recursive(_numerals(), _joined, max_leaves=12))
def test_arithmetic_agrees_with_python_fractions(tree: Tree) -> None:
    assume(len(tree.text) <= 500 and abs(tree.value) < 10**12)
    assert value(tree.text, "number") == float(tree.value)


@QUICK
@given(st.recursive(_numerals(), _joined, max_leaves=6))
def test_a_bare_formula_is_in_the_files_unit_where_a_length_is_wanted(tree: Tree) -> None:
    assume(abs(tree.value) < 10**4)
    units_mm: dict[Units, Fraction] = {"in": Fraction(127, 5), "mm": Fraction(1), "cm": Fraction(10)}
    for units, mm in units_mm.items():
        assert value(tree.text, "length", units) == float(tree.value * mm)


# -------------------------------------------------------------------------------------------------- units


@dataclass(frozen=True)
class Sized:
    """A formula of firm quantities, the power of its length (None: it must be refused) and its value in mm."""

    text: str
    power: int | None
    value: float


def _firm() -> st.SearchStrategy[Sized]:
    return st.sampled_from(
        [
            Sized("body_width", 1, 254.0),
            Sized("arch_rise", 1, 44.45),
            Sized("boards", 0, 3.0),
            Sized("panel", 2, 64516.0),
            Sized("1' 2\"", 1, 355.6),
            Sized("7 mm", 1, 7.0),
        ]
    )


def _combined(children: st.SearchStrategy[Sized]) -> st.SearchStrategy[Sized]:
    def plus(a: Sized, b: Sized) -> Sized:
        return Sized(f"({a.text} + {b.text})", a.power if a.power == b.power else None, a.value + b.value)

    def times(a: Sized, b: Sized) -> Sized:
        power = None if a.power is None or b.power is None else a.power + b.power
        return Sized(f"({a.text} * {b.text})", power, a.value * b.value)

    def over(a: Sized, b: Sized) -> Sized:
        power = None if a.power is None or b.power is None else a.power - b.power
        return Sized(f"({a.text} / {b.text})", power, a.value / b.value)

    def root(a: Sized) -> Sized:
        power = None if a.power is None or a.power % 2 else a.power // 2
        return Sized(f"sqrt({a.text})", power, math.sqrt(a.value))

    return st.one_of(
        st.builds(plus, children, children),
        st.builds(times, children, children),
        st.builds(over, children, children),
        children.map(root),
    )


@QUICK
@given(st.recursive(_firm(), _combined, max_leaves=5))
@example(Sized("sqrt(body_width * arch_rise)", 1, math.sqrt(254.0 * 44.45)))
def test_units_are_kept_through_any_arithmetic(sized: Sized) -> None:
    assume(1e-9 < sized.value < 1e6 and len(sized.text) < 500)
    if sized.power == 1:
        assert value(sized.text) == pytest.approx(sized.value, rel=1e-9)
    else:
        refusal(sized.text)
    if sized.power == 0:
        assert value(sized.text, "number") == pytest.approx(sized.value, rel=1e-9)
    else:
        refusal(sized.text, "number")
    refusal(sized.text, "angle")


@pytest.mark.parametrize(
    ("text", "wanted", "says"),
    [
        ("body_width * arch_rise", "length", "is an area, where a length is wanted"),
        ("body_width / arch_rise", "length", "is a number, where a length is wanted"),
        ("body_width * arch_rise * 2 in", "length", "is a volume, where a length is wanted"),
        ("boards", "length", "is a number, where a length is wanted"),
        ("sin(30)", "length", "is a number, where a length is wanted"),
        ("boards / 2", "length", "is a number, where a length is wanted"),
        ("360.5 deg", "angle", "more than a full turn"),
        ("lean", "length", "is an angle, where a length is wanted"),
        ("3 in", "angle", "is a length, where an angle is wanted"),
        ("boards", "angle", "is a number, where an angle is wanted"),
        ("3 in", "number", "is a length, where a number is wanted"),
        ("body_width + lean", "length", "body_width (a length) and lean (an angle)"),
        ("body_width - boards", "length", "body_width (a length) and boards (a number)"),
        ("body_width + panel", "length", "body_width (a length) and panel (an area)"),
        ("max(body_width, boards)", "length", "body_width (a length) and boards (a number)"),
        ("body_width * lean", "length", "an angle goes with numbers only"),
        ("lean * lean", "angle", "an angle goes with numbers only"),
        ("body_width / lean", "length", "an angle goes with numbers only"),
        ("sqrt(body_width)", "length", "sqrt takes a number or an area"),
        ("sqrt(lean)", "angle", "sqrt takes a number or an area"),
        ("sin(body_width)", "number", "body_width, a length"),
        ("atan(body_width)", "angle", "rise / run"),
        ("atan(lean)", "angle", "lean, an angle"),
        ("atan(arch_rise, body_width)", "angle", "write atan(rise / run)"),
    ],
)
def test_units_that_do_not_fit_are_named(text: str, wanted: Wanted, says: str) -> None:
    assert says in refusal(text, wanted)


# ------------------------------------------------------------------------------------------------- errors


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("arch_ris / 2", "did you mean arch_rise?"),
        ("Body_Width", "did you mean body_width?"),
        ("body width", "write body_width"),
        ("zebra", "the sizes are arch_rise, boards, body_width, lean, panel"),
        ("nan", "no size has that name"),
        ("inf", "no size has that name"),
        ("2 body_width", "write 2 * body_width"),
        ("body_width arch_rise", "nothing between body_width and arch_rise"),
        ("2(3)", "nothing between 2 and ("),
        ("body_width(3)", "write body_width * ("),
        ("body_width mm", "a unit follows a number only"),
        ("(3 + 4) mm", "a unit follows a number only"),
        ("sqr(4)", "did you mean sqrt?"),
        ("frobnicate(4)", "functions are min, max, abs"),
        ("sqrt", "sqrt with no brackets"),
        ("in", "in with no number"),
        ("sqrt()", "gives sqrt no values"),
        ("min()", "at least one value"),
        ("3 / 0", "divides by 0, in 3 / 0"),
        ("body_width / (arch_rise - arch_rise)", "divides by 0"),
        ("sqrt(-4)", "less than 0"),
        ("sqrt(arch_rise * arch_rise - body_width * body_width)", "less than 0"),
        ("asin(2)", "comes to 2: asin takes -1 to 1"),
        ("acos(body_width / arch_rise)", "comes to 5.714"),
        ("tan(90)", "right angle"),
        ("tan(270 deg)", "right angle"),
        ("3 +", "ends after +"),
        ("* 3", "begins with *"),
        ("3 + * 4", "has * after +"),
        ("()", "missing"),
        ("(3", "never closed"),
        ("3)", "too many"),
        ("max(3", "never closed"),
        ("3, 4", "comma outside min( ) and max( )"),
        ("2^3", "x * x"),
        ("2**3", "x * x"),
        ("2 × 3", "write *"),
        ("6 ÷ 3", "write /"),
        ("[3]", "brackets are ( and )"),
        ("ü + 1", "the letter ü"),
        ("__import__(body_width)", "functions are"),
        ("body_width.real", "is no part of"),
        ("body_width == 3", "has ="),
        ("", "holds nothing"),
        (" \t\n ", "holds nothing"),
    ],
)
def test_errors_say_what_is_wrong_and_what_would_be_right(text: str, says: str) -> None:
    assert says in refusal(text)


def test_an_unknown_name_where_there_are_no_sizes() -> None:
    with pytest.raises(FormulaError, match="no sizes are named here"):
        formula.evaluate("width", wanted="length", units="in", names={})


@pytest.mark.parametrize(
    "text",
    [
        "(" * 5000 + "1" + ")" * 5000,
        "(" * 200 + "1" + ")" * 200,
        "sqrt(" * 90 + "1" + ")" * 90,
        "-" * 5000 + "1",
        "1+" * 5000 + "1",
        "9" * 400,
        "1" * 5000,
        "1e400",
        "-1e400",
        "1e-400",
        "1e999999999999999999",
        "999999999999 * 999999999999",
        "boards*" * 70 + "body_width",
        "9999999*" * 60 + "9",
        "1/" * 200 + "1",
        "'" * 400,
        "1 " * 250,
        "1'" * 200,
        "1,1" * 150,
        "." * 400,
        "\ud800",
        "1" + "0" * 300 + "/3",
        "400 deg",
    ],
)
def test_texts_built_to_explode_are_refused_in_a_few_words(text: str) -> None:
    what = refusal(text)
    assert len(what) < 400
    assert what.isprintable()
    others: tuple[Wanted, ...] = ("angle", "number")
    for wanted in others:
        try:
            assert math.isfinite(read(text, wanted).value)
        except FormulaError as error:
            assert len(error.what) < 400


def test_the_deepest_and_longest_that_are_allowed_are_read() -> None:
    assert value("(" * 50 + "1" + ")" * 50) == 25.4
    assert value("abs(" * 50 + "-1" + ")" * 50) == 25.4
    assert value("1+" * 249 + "1") == pytest.approx(250 * 25.4)
    assert value("-" * 498 + "1") == 25.4
    assert "more than 50 brackets" in refusal("(" * 51 + "1" + ")" * 51)
    assert "501 characters, and 500" in refusal("1" + "+" * 500)


SCRAPS = [
    *"0123456789",
    *"+-*/(),.:'\"°½¾ \t",
    *NAMES,
    "nothing",
    "in",
    "ft",
    "mm",
    "deg",
    "over",
    " over ",
    " - ",
    "3/8",
    "1e",
]
SCRAPS += ["3/8", "1e", "sqrt(", "max(", "atan(", "tan(", "_", "2 1/2", "1' 3\""]
FORMULA_LIKE = st.lists(st.sampled_from(SCRAPS), max_size=14).map("".join)


@settings(max_examples=300, deadline=None)
@given(st.one_of(FORMULA_LIKE, st.text(max_size=40)), st.sampled_from(["length", "angle", "number"]))
def test_any_text_is_read_or_refused_and_never_breaks_anything(text: str, wanted: Wanted) -> None:
    try:
        reading = read(text, wanted)
    except FormulaError as error:
        assert error.what.isprintable()
        assert error.written == text
    else:
        assert math.isfinite(reading.value)
        assert reading.written == text
        assert formula.names_in(text) <= set(NAMES)


# ---------------------------------------------------------------------------------------- sizes and names


@pytest.mark.parametrize(
    ("text", "kind", "expected_kind", "expected"),
    [
        ("10", None, "length", 254.0),
        ("22-13/16", None, "length", 579.4375),
        ("body_width / 2", None, "length", 127.0),
        ("7.5 deg", None, "angle", math.radians(7.5)),
        ("7.5°", None, "angle", math.radians(7.5)),
        ("1:8", None, "angle", math.atan(1 / 8)),
        ("7/8 over 10", None, "angle", math.atan(0.0875)),
        ("lean / 2", None, "angle", math.radians(3.75)),
        ("90 deg - lean", None, "angle", math.radians(82.5)),
        ("body_width * sin(5 deg)", None, "length", 254.0 * math.sin(math.radians(5))),
        ("8", "number", "number", 8.0),
        ("8", "angle", "angle", math.radians(8)),
        ("body_width / arch_rise", "number", "number", 254.0 / 44.45),
    ],
)
def test_a_size_is_a_length_unless_it_says_otherwise(
    text: str, kind: Wanted | None, expected_kind: str, expected: float
) -> None:
    quantity, reading = formula.evaluate_size(text, units="in", names=NAMES, kind=kind)
    assert quantity.kind == expected_kind
    assert quantity.value == pytest.approx(expected, rel=1e-14)
    assert reading.value == quantity.value


def test_a_size_that_is_no_length_is_told_how_to_say_so() -> None:
    with pytest.raises(FormulaError, match='kind = "number"'):
        formula.evaluate_size("body_width / arch_rise", units="in", names=NAMES)
    with pytest.raises(FormulaError, match="where a length is wanted"):
        formula.evaluate_size("3 deg", units="in", names=NAMES, kind="length")
    with pytest.raises(FormulaError, match="is an area"):
        formula.evaluate_size("panel", units="in", names=NAMES)


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("body_width / 2 - 3/8", {"body_width"}),
        ("max(a, b1) * sin(lean)", {"a", "b1", "lean"}),
        ("22 13/16 in", set()),
        ("580mm + c", {"c"}),
        ("7/8 over 10", set()),
        ("a+b-c", {"a", "b", "c"}),
        ("(((a", {"a"}),
        ("22 deg", set()),
        ("in_side + mm2", {"in_side", "mm2"}),
        ("a" * 600, set()),
    ],
)
def test_names_of_a_formula(text: str, names: set[str]) -> None:
    assert formula.names_in(text) == names


@QUICK
@given(FORMULA_LIKE)
def test_no_name_that_a_formula_uses_is_missed(text: str) -> None:
    """A formula that is read with all sizes is read the same with only those that names_in finds."""
    try:
        full = read(text)
    except FormulaError:
        return
    fewer = {name: NAMES[name] for name in formula.names_in(text)}
    assert formula.evaluate(text, wanted="length", units="in", names=fewer) == full


@pytest.mark.parametrize(("text", "right"), [("2 1/4.", "2 1/4"), ("3/8.", "3/8"), ("5 - 2 1/4.", "2 1/4")])
def test_a_full_stop_after_a_fraction_is_named(text: str, right: str) -> None:
    with pytest.raises(FormulaError, match=f"has a point after a fraction: write {right}$"):
        read(text)


@pytest.mark.parametrize(
    "name", ["mm", "in", "over", "sqrt", "2nd", "body-width", "body width", "", "höhe", "a\n", "½"]
)
def test_names_that_no_size_may_have(name: str) -> None:
    assert formula.name_problem(name)


def test_names_that_a_size_may_have() -> None:
    assert [formula.name_problem(name) for name in ("arch_rise", "x", "inside", "_a", "B2")] == [None] * 5


# ------------------------------------------------------------------------------------------------- echoes


@pytest.mark.parametrize(
    ("text", "units", "echo", "worth_saying"),
    [
        ("22 13/16", "in", "22 13/16 in = 579.44 mm", False),
        ("22-13/16", "in", "22 13/16 in = 579.44 mm", True),
        ("19/16", "in", "1 3/16 in = 30.16 mm", True),
        ("22 4/4", "in", "23 in = 584.2 mm", True),
        ("1'-10 13/16\"", "in", "22 13/16 in = 579.44 mm", True),
        ("580 mm", "in", "22.8346 in = 580 mm", True),
        ("580 mm", "mm", "580 mm = 22.8346 in", False),
        ('3/4"', "in", "3/4 in = 19.05 mm", False),
        ("3/4''", "in", "3/4 in = 19.05 mm", False),
        ("3' 6\"", "in", "42 in = 1066.8 mm", True),
        ("3 ft 6 in", "in", "42 in = 1066.8 mm", True),
        ("106.7cm", "in", "42.0079 in = 1067 mm", True),
        ("¾", "in", "3/4 in = 19.05 mm", True),
        ("2 ¼", "in", "2 1/4 in = 57.15 mm", True),
        ("body_width / 2 - 3/8", "in", "4 5/8 in = 117.48 mm", True),
        ("3 / 4", "in", "3/4 in = 19.05 mm", True),
        ("22 13/16 in", "mm", "579.44 mm = 22 13/16 in", True),
        ("22 13/16 in", "cm", "57.944 cm = 22 13/16 in", True),
        ("- 3", "in", "-3 in = -76.2 mm", False),
        ("0 - 0", "mm", "0 mm = 0 in", True),
    ],
)
def test_echo_of_a_length(text: str, units: Units, echo: str, worth_saying: bool) -> None:
    reading = read(text, units=units)
    assert (reading.echo, reading.worth_saying) == (echo, worth_saying)


def test_echo_of_angles_and_numbers() -> None:
    assert (read("1:8", "angle").echo, read("1:8", "angle").worth_saying) == ("7.13 deg", True)
    assert (read("7.5", "angle").echo, read("7.5", "angle").worth_saying) == ("7.5 deg", False)
    assert read("body_width / arch_rise", "number").echo == "5.714286"
