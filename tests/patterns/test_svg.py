"""SVG at true size, read back by a parser that did not write it."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from patterns.curve import Curve
from patterns.pattern import Pattern
from patterns.svg import path_data, png, svg_text

Bench = Callable[..., Any]
SPACE = "{http://www.w3.org/2000/svg}"

PART = """
[[part]]
name = "{name}"
blank = {{ length = "240", width = "100" }}
edges.top = {{ points = [["0","30"],["80","12"],["120","5"]], mirror = true }}
[[part.hole]]
circle = "30"
at = ["60", "40"]
mirror = true
"""


def pattern_of(bench: Bench, name: str = "rail") -> Pattern:
    (pattern,) = bench(PART.format(name=name)).patterns()
    return pattern


def points_of(data: str) -> list[np.ndarray]:
    """The Béziers of path data, by subpath, in the file's own coordinates."""
    found: list[np.ndarray] = []
    for sub in data.split("M")[1:]:
        here = np.array([float(v) for v in re.match(r"\s*([^CLZ]+)", sub).group(1).split(",")])  # type: ignore[union-attr]
        beziers = []
        for command, body in re.findall(r"([CL])([^CLZ]+)", sub):
            numbers = np.array([float(v) for v in re.findall(r"-?[\d.]+", body)]).reshape(-1, 2)
            handles = (
                numbers
                if command == "C"
                else np.array([here + (numbers[0] - here) / 3, here + (numbers[0] - here) * 2 / 3, numbers[0]])
            )
            beziers.append(np.vstack([here[None], handles]))
            here = beziers[-1][-1]
        found.append(np.array(beziers))
    return found


def test_the_cut_line_is_one_path_that_is_the_outline(bench: Bench) -> None:
    pattern = pattern_of(bench)
    root = ElementTree.fromstring(svg_text(pattern))
    (path,) = [e for e in root.iter(f"{SPACE}path") if e.get("id") == "cut-rail"]
    assert [e.get("id") for e in root.iter() if (e.get("id") or "").startswith("cut")] == ["cut-rail"]
    data = path.get("d") or ""
    assert data.count("M") == data.count("Z") == 3
    flipped = [Curve(sub * (1, -1)) for sub in points_of(data)]
    area = sum(
        abs(np.trapezoid(c.flattened(1e-4)[:, 1], c.flattened(1e-4)[:, 0])) * sign
        for c, sign in zip(flipped, (1, -1, -1), strict=True)
    )
    assert area == pytest.approx(pattern.outline.area, rel=1e-5)
    assert flipped[0].bounds == pytest.approx(pattern.outline.bounds, abs=2e-5)


def test_size_and_view_box_are_the_same_millimetres(bench: Bench) -> None:
    root = ElementTree.fromstring(svg_text(pattern_of(bench)))
    width, height = root.get("width") or "", root.get("height") or ""
    assert width.endswith("mm")
    _, _, w, h = (root.get("viewBox") or "").split()
    assert (f"{w}mm", f"{h}mm") == (width, height)
    assert root.get("preserveAspectRatio") is None


def test_everything_drawn_is_inside_the_view_box(bench: Bench) -> None:
    root = ElementTree.fromstring(svg_text(pattern_of(bench)))
    x, y, w, h = (float(v) for v in (root.get("viewBox") or "").split())
    for path in root.iter(f"{SPACE}path"):
        for sub in points_of(path.get("d") or ""):
            low, high = sub.min(axis=(0, 1)), sub.max(axis=(0, 1))
            assert (low > (x, y)).all()
            assert (high < (x + w, y + h)).all()


def test_everything_but_the_cut_line_is_in_groups_named_by_role(bench: Bench) -> None:
    root = ElementTree.fromstring(svg_text(pattern_of(bench)))
    groups = {g.get("id") for g in root.findall(f"{SPACE}g")}
    assert {"centre", "mark", "blank", "dimension", "grain", "label"} == groups
    assert len(root.findall(f"{SPACE}path")) == 1
    widths = {e.get("id"): e.get("stroke-width") for e in root if e.get("stroke-width")}
    assert float(widths.pop("cut-rail") or 0) == 2 * float(max(v or "" for v in widths.values()))
    assert root.findall(f".//{SPACE}text") == []
    assert "dasharray" not in svg_text(pattern_of(bench))


def test_curves_stay_curves() -> None:
    assert path_data([Curve.circle((0, 0), 10)]).count("C") == len(Curve.circle((0, 0), 10))
    assert path_data([Curve.line((0, 0), (3, -4))]) == "M0,0 L3,4"


def test_a_name_with_markup_is_text(bench: Bench) -> None:
    name = "a <b> & 'c'"
    root = ElementTree.fromstring(svg_text(pattern_of(bench, name)))
    assert root.findtext(f"{SPACE}title") == name
    assert name in [e.text for e in root.iter(f"{SPACE}title")][1:]
    (path,) = root.findall(f"{SPACE}path")
    assert re.fullmatch(r"cut-[a-z0-9-]+", path.get("id") or "")


def test_the_same_pattern_gives_the_same_text(bench: Bench) -> None:
    assert svg_text(pattern_of(bench)) == svg_text(pattern_of(bench))


@settings(max_examples=20, deadline=None)
@given(st.floats(1, 60))
def test_numbers_have_no_exponents(bench: Bench, depth: float) -> None:
    (pattern,) = bench(
        '[[part]]\nname = "a"\nblank = { length = "200", width = "90" }\n'
        f'edges.top = {{ arch = "segmental", rise = "{depth}" }}'
    ).patterns()
    for data in re.findall(r' d="([^"]*)"', svg_text(pattern)):
        assert re.fullmatch(r"[MCLZ\d., -]*", data)
        assert re.search(r"-0[ ,\"]", data) is None


def test_the_picture_is_white_with_the_outline_where_it_belongs(bench: Bench) -> None:
    """At 254 dpi ten pixels are a millimetre: the level bottom edge lies under its own row of ink."""
    pattern = pattern_of(bench)
    image = np.array(Image.open(io.BytesIO(png(pattern, 254))).convert("L"))
    root = ElementTree.fromstring(svg_text(pattern))
    x, y, w, h = (float(v) for v in (root.get("viewBox") or "").split())
    assert image.shape == pytest.approx((10 * h, 10 * w), abs=1)
    assert image[0, 0] == 255
    row, column = round(-y * 10), round((30 - x) * 10)
    dark = [r for r in range(row - 6, row + 6) if image[r, column] < 128]
    assert np.mean(dark) + 0.5 == pytest.approx(-y * 10, abs=1)
    assert len(dark) == pytest.approx(3, abs=1)
