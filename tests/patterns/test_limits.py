"""Limits that messages quote: typed as they are shown, they work. A limit rounded to the nearest may be just too much."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.errors import PatternError

Bench = Callable[..., Any]

QUOTED = re.compile(r"(?:runs from 0 to|reaches|under|wood to joint from .* to|;) ~?([\d/ ]+(?:\.\d+)?) (in|mm)")


def refusal(bench: Bench, text: str, units: str) -> str:
    try:
        bench(f'[[part]]\nname = "a"\n{text}\n', units)
    except PatternError as error:
        return "\n".join(error.lines())
    return ""


@pytest.mark.parametrize("units", ["in", "mm"])
@pytest.mark.parametrize(
    ("text", "asked"),
    [
        ('edges.top = { arch = "segmental", rise = "@", from = "0", to = "%L" }', 9000),
        ('edges.top = { arch = "three-centred", rise = "@", arch_to = "edge" }', 9000),
        ('edges.top = { arch = "pointed", rise = "@" }', 1),
        ('edges.top = { arch = "segmental", radius = "@" }', 1),
        ('edges.top = { arch = "four-centred", rise = "%H / 9", end_radius = "@" }', 9000),
        ('edges.top = { heights = [["0", "@"], ["%L", "%H / 2"]] }', 9000),
        ('edges.top = { points = [["0", "0"], ["@", "%H / 2"]] }', 9000),
        ('edges.top = { points = [["0", "0"], ["@", "%H / 2"]], stations_from = "middle" }', 9000),
        ('corners.top_left = { round = "@" }', 9000),
        ('corners.top_left = { chamfer = "@" }', 9000),
        ('corners.top_left = { notch = ["@", "%H / 2"] }', 9000),
        ('[[part.cut]]\nfrom = ["top", "@"]\nto = ["left", "0"]', 9000),
        ('glue_lines = ["@"]', 9000),
    ],
)
@settings(max_examples=12, deadline=None)
@given(length=st.floats(2.0, 40.0), share=st.floats(0.51, 0.9))
def test_the_limit_that_is_quoted_works(
    bench: Bench, units: str, text: str, asked: float, length: float, share: float
) -> None:
    """Rectangles of no round size; a corner's and an arch's limits come from their sides."""
    unit = 1 if units == "in" else 25.4
    size, width = f"{length * unit:.7f}", f"{length * share * unit:.7f}"
    board = f'blank = {{ length = "{size}", width = "{width}" }}\n{text}'.replace("%L", size).replace("%H", width)
    first = "0.001" if asked == 1 else "9000"
    message = refusal(bench, board.replace("@", first), units)
    found = QUOTED.search(message)
    assert found is not None, message
    hair = " - 0.0001" if "must be under" in message else ""  # a limit that is itself too much may be quoted exactly
    again = refusal(bench, board.replace("@", found[1].strip() + hair), units)
    assert first not in again
    assert not QUOTED.search(again), (message, again)


@settings(max_examples=30, deadline=None)
@given(st.sampled_from(["segmental", "three-centred", "pointed"]), st.floats(-40, 60), st.floats(150, 300))
def test_between_leaning_sides_the_limit_allows_for_the_span_it_leads_to(
    bench: Bench, kind: str, lean: float, bottom: float
) -> None:
    blank = f'blank = {{ bottom = "{bottom:.6f}", top = "{bottom + 2 * lean:.6f}", height = "400" }}\n'
    board = blank + f'edges.top = {{ arch = "{kind}", rise = "@" }}'
    message = refusal(bench, board.replace("@", "1" if kind == "pointed" else "350"), "mm")
    found = QUOTED.search(message)
    assert found is not None, message
    again = refusal(bench, board.replace("@", found[1]), "mm")
    assert again == "" or "leaves the blank" in again  # beside sides that lean in, an upright springing bulges out
