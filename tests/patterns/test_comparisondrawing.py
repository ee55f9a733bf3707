"""The picture of two versions: both lines in their places, the largest distance to be seen, nothing off the page."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator

import pytest

from patterns.compared import Compared, compare, shape_of
from patterns.comparisondrawing import NOT_A_PATTERN, Caption, picture
from patterns.comparisonlayout import PLAIN_MM, in_words, lay_out

SVG = "{http://www.w3.org/2000/svg}"
A4 = (297.0, 210.0)
APRON = (
    '[[part]]\nname = "apron"\nblank = { length = "LENGTH", width = "130" }\n'
    'edges.bottom = { arch = "segmental", rise = "RISE", arch_to = "inside", from = "100", to = "900" }\n'
    '[[part.hole]]\ncircle = "12"\nat = ["HOLE", "90"]\n'
)

Drawn = Callable[..., tuple[Compared, ET.Element]]


@pytest.fixture(scope="session")
def drawn(bench) -> Drawn:
    """The comparison of an apron with another, and its picture on A4."""

    def made(paper: tuple[float, float] = A4, name: str = "apron", **new: float) -> tuple[Compared, ET.Element]:
        def part(length: float = 1000, rise: float = 60, hole: float = 60):
            text = APRON.replace("LENGTH", str(length)).replace("RISE", str(rise)).replace("HOLE", str(hole))
            return bench(text).part

        found = compare(shape_of(part()), shape_of(part(**new)))
        far = f"{found.largest.distance:.2f} mm" if found.largest else ""
        caption = Caption(f"{name}: what changed", "a.toml", "b.toml", ("Hall table", "One line of findings."), far)
        return found, ET.fromstring(picture(found, caption, paper))

    return made


def group(root: ET.Element, name: str) -> ET.Element:
    found = root.find(f"{SVG}g[@id='{name}']")
    assert found is not None, name
    return found


def points(element: ET.Element) -> list[tuple[float, float]]:
    """Every point of the paths in an element, control points too; y upward."""
    text = " ".join(path.get("d", "") for path in element.iter(f"{SVG}path"))
    return [(float(x), -float(y)) for x, y in re.findall(r"(-?[\d.]+),(-?[\d.]+)", text)]


def words(root: ET.Element) -> list[str]:
    return [title.text or "" for title in group(root, "label").iter(f"{SVG}title")]


def paths(element: ET.Element, title: str) -> Iterator[list[tuple[float, float]]]:
    for path in element.findall(f"{SVG}path"):
        if path.findtext(f"{SVG}title") == title:
            one = ET.Element("g")
            one.append(path)
            yield points(one)


def width(element: ET.Element) -> float:
    return float(element.get("stroke-width", ""))


@pytest.mark.parametrize("change", [{"rise": 66.35}, {"length": 1100}, {"hole": 75}, {"rise": 60.05}, {"length": 4000}])
@pytest.mark.parametrize("paper", [A4, (215.9, 279.4)])
def test_everything_lies_on_the_page(drawn: Drawn, change: dict[str, float], paper: tuple[float, float]) -> None:
    _, root = drawn(paper, **change)
    assert root.get("width") == f"{paper[0]:g}mm" and root.get("height") == f"{paper[1]:g}mm"
    for x, y in points(root):
        assert 3.0 <= x <= paper[0] - 3.0 and 3.0 <= y <= paper[1] - 3.0


def test_the_new_line_is_wide_and_whole_and_the_old_one_narrow_and_dashed(drawn: Drawn) -> None:
    _, root = drawn(rise=66.35)
    new, old = group(root, "new-line"), group(root, "old-line")
    assert width(new) == 2 * width(old) == 2 * width(group(root, "distance"))
    assert all(one.get("stroke") == "black" for one in (new, old))
    first = new.find(f"{SVG}path")
    assert first is not None and first.get("d", "").count("M") == 1
    dashed = old.find(f"{SVG}path")
    assert dashed is not None and dashed.get("d", "").count("M") > 50


def test_the_part_is_drawn_at_the_scale_that_is_said(drawn: Drawn) -> None:
    found, root = drawn(length=1100)
    said = next(text for text in words(root) if NOT_A_PATTERN in text)
    scale = int(re.match(r"Scale 1:(\d+)\.", said)[1])  # type: ignore[index]
    boundary = next(iter(paths(group(root, "new-line"), "new line")))
    across = max(x for x, _ in boundary) - min(x for x, _ in boundary)
    assert across == pytest.approx(1100 / scale, abs=1e-3)
    assert found.largest is not None and found.largest.distance / scale > PLAIN_MM
    assert not any(text == "A" for text in words(root))


@pytest.mark.parametrize("more", [0.05, 1.0, 6.35])
def test_a_change_too_small_to_see_gets_a_detail(drawn: Drawn, more: float) -> None:
    _, root = drawn(rise=60 + more)
    said = words(root)
    assert "A" in said and f"{more:.2f} mm" in said
    enlarged = next(text for text in said if text.startswith("A  "))
    left, right = (float(number) for number in enlarged.removeprefix("A  ").split(":"))
    assert PLAIN_MM <= more * left / right <= 15.0
    length = pytest.approx(more * left / right, abs=1e-3)
    lines = [line for line in paths(group(root, "distance"), "distance") if len(line) == 2]
    (shown,) = (line for line in lines if math.dist(*line) == length)
    assert abs(shown[0][0] - shown[1][0]) < 0.1  # at the crown it stands upright


def test_a_small_hole_that_is_gone_still_looks_like_one(drawn: Drawn) -> None:
    _, root = drawn(hole=80)
    dashes = [line for line in paths(group(root, "old-line"), "old line") if len(line) < 20]
    assert len(dashes) >= 6


def test_what_is_old_and_what_is_new_is_said_in_words(drawn: Drawn) -> None:
    _, root = drawn(rise=70, name="apron of a very long hall table " * 4)
    said = words(root)
    assert "new: b.toml" in said and "old: a.toml" in said and "Hall table" in said
    assert root.findtext(f"{SVG}title", "").startswith("apron")


def test_the_same_comparison_gives_the_same_text(drawn: Drawn) -> None:
    first, second = (ET.tostring(drawn(rise=66)[1]) for _ in range(2))
    assert first == second


def test_scales_are_said_as_drawings_say_them() -> None:
    assert [in_words(scale) for scale in (1.0, 1 / 6, 2.0, 0.2, 500)] == ["1:1", "1:6", "2:1", "1:5", "500:1"]


def test_no_part_is_drawn_larger_than_it_is() -> None:
    assert lay_out((0, 0, 30, 20), (0, 0, 300, 200), None).scale == 1.0
