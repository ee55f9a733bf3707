"""Pattern files at random: sweeps of every kind, cuts, corners, holes, marks, boards, in every unit.

Most of them can be made, some can't (a curve may leave the blank, a hole fall outside); none may do anything but come
out or be refused in words.
"""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

Draw = st.DrawFn

MM = {"in": 25.4, "mm": 1.0, "cm": 10.0}
KINDS = ("segmental", "elliptical", "three-centred", "pointed", "four-centred", "ogee")


class Shop:
    """Writes lengths (mm) as a maker does in one unit: inches in sixteenths, centimetres and millimetres in decimals."""

    def __init__(self, units: str) -> None:
        self.units = units

    def bare(self, mm: float) -> str:
        """The figure without quotes."""
        if self.units != "in":
            return f"{mm / MM[self.units]:.{1 if self.units == 'mm' else 2}f}"
        sixteenths = round(mm / 25.4 * 16)
        sign, (whole, rest) = "-" if sixteenths < 0 else "", divmod(abs(sixteenths), 16)
        part = Fraction(rest, 16)
        words = [str(whole)] if whole or not rest else []
        return sign + " ".join([*words, *([f"{part.numerator}/{part.denominator}"] if rest else [])])

    def __call__(self, mm: float) -> str:
        return f'"{self.bare(mm)}"'

    def pair(self, one: float, other: float) -> str:
        """[x, y]"""
        return f"[{self(one)}, {self(other)}]"

    def pairs(self, rows: list[tuple[float, float]]) -> str:
        """[[x, y], ...]"""
        return "[" + ", ".join(self.pair(*row) for row in rows) + "]"


def share(low: float, high: float) -> st.SearchStrategy[float]:
    """A number of few digits between two, so that figures are such as people write."""
    return st.integers(round(low * 64), round(high * 64)).map(lambda n: n / 64)


def chance(draw: Draw, one_in: int) -> bool:
    """True once in ``one_in``."""
    return draw(st.integers(1, one_in)) == one_in


# -------------------------------------------------------------------- sweeps


def _rows(draw: Draw, first: float, last: float, most_depth: float, count: int) -> list[tuple[float, float]]:
    """A table from one station to another, not too near to each other."""
    shares = sorted(draw(st.lists(st.integers(1, 15), min_size=count - 2, max_size=count - 2, unique=True)))
    stations = [first, *(first + (last - first) * k / 16 for k in shares), last]
    smooth = draw(st.booleans())
    end = draw(share(0, 0.9))
    rows = []
    for k, station in enumerate(stations):
        u = k / (count - 1)
        depth = end * u * u * (3 - 2 * u) if smooth else draw(share(0.2, 0.8))
        rows.append((station, (0.1 + depth) * most_depth))
    return rows if draw(st.booleans()) else [(s, d) for (s, _), (_, d) in zip(rows, reversed(rows), strict=True)]


def _arch(draw: Draw, shop: Shop, span: float, most_depth: float) -> str:
    kind = draw(st.sampled_from(KINDS))
    to = draw(st.sampled_from(("edge", "inside")))
    most = min(most_depth, {"segmental": 0.5, "elliptical": 0.5, "three-centred": 0.5}.get(kind, 0.9) * span)
    least = {"pointed": 0.52, "four-centred": 0.2}.get(kind, 0.02) * span
    rise = least + draw(share(0, 1)) * max(most - least, 0.0)
    words = [f'arch = "{kind}"', f'arch_to = "{to}"']
    if kind == "segmental" and chance(draw, 3):
        words.append(f"radius = {shop(span * draw(share(0.5, 4)))}")
    else:
        words.append(f"rise = {shop(rise)}")
    if kind in ("three-centred", "four-centred", "ogee") and chance(draw, 4):
        words.append(f"end_radius = {shop(rise * draw(share(0.2, 1)))}")
    return ", ".join(words)


def _table(draw: Draw, shop: Shop, first: float, last: float, most_depth: float, length: float, width: float) -> str:
    """Heights where ``width`` is known to be that over the opposite edge (positive), else depths."""
    form = draw(st.sampled_from(("points", "points", "heights" if width > 0 else "points", "measured")))
    rows = _rows(draw, first, last, most_depth, draw(st.integers(5 if form == "measured" else 2, 8)))
    words = []
    if form == "heights":
        rows = [(s, abs(width) - d) for s, d in rows]
    if form == "measured":
        words.append(f"within = {shop(draw(st.sampled_from((0.8, 1.6, 5.0))))}")
        if chance(draw, 3):
            words.append(f"leave_out = [{shop.pair(first + (last - first) / 3, first + (last - first) / 2)}]")
    if chance(draw, 5):
        rows = [(s - length / 2, d) for s, d in rows]
        words.append('stations_from = "middle"')
    if chance(draw, 3):
        angles = f'["{draw(st.integers(-60, 60))}", "{draw(st.integers(-60, 60))}"]'
        words.append(f"ends = {draw(st.sampled_from((chr(34) + 'clamped' + chr(34), angles)))}")
    return ", ".join([f"{form} = {shop.pairs(rows)}", *words])


@st.composite
def edge_tables(draw: Draw, shop: Shop, length: float, width: float) -> str:
    """What stands after ``edges.top =``: one sweep, a list of sweeps, or an allowance."""
    most_depth = abs(width) * draw(st.sampled_from((0.1, 0.3, 0.45)))
    count = draw(st.sampled_from((1, 1, 1, 2, 3)))
    sweeps = []
    for k in range(count):
        first, last = length * k / count, length * (k + 1) / count
        whole = count == 1 and chance(draw, 2)
        words = []
        if not whole:
            first, last = first + (last - first) * draw(share(0, 0.3)), last - (last - first) * draw(share(0, 0.3))
        mirror = chance(draw, 3) and count == 1
        if mirror:
            last = min(last, length / 2)
            first = min(first, last / 2)
            whole = False
        if draw(st.booleans()):
            words.append(_arch(draw, shop, last - first, most_depth))
            if not whole:
                words += [f"from = {shop(first)}", f"to = {shop(last)}"]
        else:
            words.append(_table(draw, shop, first, last, most_depth, length, width))
        if mirror:
            words.append("mirror = true")
        if k == 0:
            words += draw(_allowances(shop, length))
        sweeps.append("{ " + ", ".join(words) + " }")
    return sweeps[0] if count == 1 else "[" + ", ".join(sweeps) + "]"


@st.composite
def _allowances(draw: Draw, shop: Shop, length: float) -> list[str]:
    words = []
    if chance(draw, 4):
        words.append(f"leave = {shop(draw(st.sampled_from((0.8, 2.0, 3.2))) * (2 if shop.units == 'in' else 1))}")
    if chance(draw, 6):
        words.append("fit = true")
    if chance(draw, 4):
        limits = f", from = {shop(length * 0.2)}, to = {shop(length * 0.7)}" if draw(st.booleans()) else ""
        faces = draw(st.sampled_from(("both", "outside", "inside")))
        words.append(f'round_over = {{ radius = {shop(6.4)}, faces = "{faces}"{limits} }}')
    return words


# -------------------------------------------------------------------- blanks


@st.composite
def _blanks(
    draw: Draw, shop: Shop, calm: bool
) -> tuple[str, list[tuple[str, float, float]], tuple[str, ...], float, float]:
    """The blank, its edges (name, length, how deep the blank is there: less than 0 where no height can be told), its
    corners, and its box."""
    length = draw(st.sampled_from((700, 1200) if calm else (60, 150, 300, 700, 1200, 2000))) * draw(share(0.6, 1))
    width = min(length, draw(st.sampled_from((200, 400) if calm else (40, 90, 200, 400, 700)))) * draw(share(0.5, 1))
    corners: tuple[str, ...] = ("bottom_left", "bottom_right", "top_right", "top_left")
    kind = draw(st.sampled_from(("rectangle", "trapezoid") if calm else ("rectangle", "trapezoid", "polygon")))
    if kind == "rectangle":
        edges = [("bottom", length, width), ("right", width, length), ("top", length, width), ("left", width, length)]
        return f"{{ length = {shop(length)}, width = {shop(width)} }}", edges, corners, length, width
    if kind == "trapezoid":
        top = length * draw(share(0.6, 1.4))
        over = f", overhang_left = {shop((top - length) * draw(share(-0.2, 1.2)))}" if chance(draw, 3) else ""
        edges = [
            ("bottom", length, width),
            ("top", top, width),
            ("left", width, length / 2),
            ("right", width, length / 2),
        ]
        words = f"{{ bottom = {shop(length)}, top = {shop(top)}, height = {shop(width)}{over} }}"
        return words, edges, corners, length, width
    inner = draw(share(0.3, 0.7))
    shapes = (
        [(0, 0), (1, 0), (0.4, 1)],
        [(0, 0), (1, 0), (1, 0.6), (0.5, 1), (0, 0.6)],
        [(0, 0), (1, 0), (1, inner), (inner, inner), (inner, 1), (0, 1)],
        [(0, 0), (0.7, 0), (1, 0.5), (0.7, 1), (0, 1), (0.2, 0.5)],
    )
    vertices = [(x * length, y * width) for x, y in draw(st.sampled_from(shapes))]
    around = list(zip(vertices, [*vertices[1:], vertices[0]], strict=True))
    sides = [((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5 for (ax, ay), (bx, by) in around]
    edges = [(f"edge_{k + 1}", side, -min(length, width) / 2) for k, side in enumerate(sides)]
    names = tuple(f"corner_{k + 1}" for k in range(len(vertices)))
    return f"{{ vertices = {shop.pairs(vertices)} }}", edges, names, length, width


# -------------------------------------------------------------------- details


@st.composite
def _cuts(draw: Draw, shop: Shop, edges: list[tuple[str, float, float]], length: float, width: float) -> str:
    k = draw(st.integers(0, len(edges) - 1))
    other = (k + draw(st.sampled_from((1, 1, 1, 2)))) % len(edges)
    ends = [(edges[n][0], edges[n][1] * draw(share(0.1, 0.9))) for n in (k, other)]
    lines = ["[[part.cut]]"]
    for word, (name, station) in zip(("from", "to"), ends, strict=True):
        lines.append(f'{word} = ["{name}", {shop(station)}]')
    points = [(length * draw(share(0.1, 0.9)), width * draw(share(0.1, 0.9))) for _ in range(draw(st.integers(0, 3)))]
    if points:
        lines.append(f"points = {shop.pairs(points)}")
    if chance(draw, 4):
        lines.append('ends = "clamped"')
    if chance(draw, 4):
        lines.append("mirror = true")
    if chance(draw, 4):
        lines.append(f'waste = "{edges[k][0]}"')
    return "\n".join(lines)


@st.composite
def _corner(draw: Draw, shop: Shop, name: str, reach: float) -> str:
    amount = reach * draw(share(0.02, 0.25))
    form = draw(st.sampled_from(("round", "chamfer", "notch")))
    value = shop(amount) if form != "notch" else shop.pair(amount, reach * draw(share(0.02, 0.25)))
    return f"corners.{name} = {{ {form} = {value} }}"


@st.composite
def _hole(draw: Draw, shop: Shop, length: float, width: float) -> str:
    lines = ["[[part.hole]]"]
    x, y = length * draw(share(0.2, 0.8)), width * draw(share(0.2, 0.8))
    size = max(min(length, width) * draw(share(0.05, 0.35)), 6.0)
    form = draw(st.sampled_from(("circle", "elongated", "points")))
    if form == "points":
        across = draw(share(0.5, 2)) * size
        points = [(x - across, y), (x, y - size / 2), (x + across, y), (x, y + size / 2)]
        lines.append(f"points = {shop.pairs(points)}")
    elif form == "circle":
        lines += [f"circle = {shop(size)}", f"at = {shop.pair(x, y)}"]
    else:
        angle = f', angle = "{draw(st.integers(-90, 90))}"' if draw(st.booleans()) else ""
        lines += [f"elongated = {{ length = {shop(size * 2)}, width = {shop(size)}{angle} }}"]
        lines += [f"at = {shop.pair(x, y)}"]
    if chance(draw, 3):
        lines.append("mirror = true")
    if draw(st.booleans()):
        lines.append('name = "peg"')
    return "\n".join(lines)


@st.composite
def _mark(draw: Draw, shop: Shop, length: float, width: float) -> str:
    def point() -> str:
        return shop.pair(length * draw(share(-0.1, 1.1)), width * draw(share(-0.1, 1.1)))

    form = draw(st.sampled_from(("centre", "line", "note")))
    if form == "centre":
        return f"[[part.mark]]\ncentre = {point()}"
    if form == "line":
        return f"[[part.mark]]\nline = [{point()}, {point()}]"
    return f'[[part.mark]]\nnote = "{draw(words())}"\nat = {point()}'


def words() -> st.SearchStrategy[str]:
    """Texts that makers write, in several scripts."""
    return st.sampled_from(
        (
            "apron",
            "top of the base",
            "ołówek ¼″ głęboko",
            "стул",
            "צד ימין",
            "椅子の背",
            "naïve café",
            "😀 smile",
            "x" * 40,
        )
    )


# -------------------------------------------------------------------- the whole


@st.composite
def parts(draw: Draw, shop: Shop, number: int, calm: bool = False) -> str:
    """One [[part]]; a calm one has less that may be in the way of something else, and mostly comes out."""
    blank, edges, corners, length, width = draw(_blanks(shop, calm))
    lines = ["[[part]]", f'name = "part {number}"', f"blank = {blank}"]
    if draw(st.booleans()):
        lines += [f"thickness = {shop(19.05)}", 'wood = "ash"', f"quantity = {draw(st.integers(1, 9))}"]
    if chance(draw, 3):
        lines.append(f'grain = "{draw(st.sampled_from(("across", "30", "-75", "along")))}"')
    for name, side, depth in edges:
        if chance(draw, 2 if name in ("top", "bottom") else 6) if calm else chance(draw, 3):
            lines.append(f"edges.{name} = {draw(edge_tables(shop, side, depth))}")
        elif chance(draw, 4):
            allowed = draw(_allowances(shop, side))
            lines += [f"edges.{name} = {{ {', '.join(allowed)} }}"] if allowed else []
    for corner in corners:
        if chance(draw, 20 if calm else 7):
            lines.append(draw(_corner(shop, corner, min(length, width))))
    if chance(draw, 2 if calm else 4):
        count = draw(st.integers(1, 2))
        lines.append(f"glue_lines = [{', '.join(shop(width * (k + 1) / (count + 1)) for k in range(count))}]")
        if draw(st.booleans()):
            lines.append('shape = "before glue"')
    if chance(draw, 5):
        lines.append(f'notes = ["{draw(words())}"]')
    if not calm and chance(draw, 5):
        lines.append(draw(_cuts(shop, edges, length, width)))
    for detail in (_mark,) if calm else (_hole, _mark):
        if chance(draw, 3):
            lines += draw(st.lists(detail(shop, length, width), min_size=1, max_size=2))
    return "\n".join(lines)


@st.composite
def pattern_files(draw: Draw, most_parts: int = 2, calm: bool = False) -> str:
    """The text of a pattern file; ``calm`` as in ``parts``."""
    shop = Shop(draw(st.sampled_from(("in", "mm", "mm", "cm"))))
    head = f'curvewright = 1\ntitle = "{draw(words())}"\nunits = "{shop.units}"\n'
    count = draw(st.integers(1, most_parts))
    return head + "\n" + "\n\n".join(draw(parts(shop, k + 1, calm)) for k in range(count)) + "\n"
