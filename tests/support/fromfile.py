"""Orders for sheets made from the text of a pattern file, the way the command line makes them."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from cli import printing, request
from patterns import patternfile, shopfile
from patterns.filetext import NamedText
from tiling.order import Order
from tiling.recipe import Recipe

SHOP = shopfile.load(shopfile.default_text(), shopfile.DEFAULT_SHOP)
DEMO = Path(__file__).resolve().parents[2] / "demo"

PANEL = """\
curvewright = 1
title = "Back of the long bench"
units = "mm"
[sizes]
arch_rise = { value = "140", least = "20", most = "420" }
[[part]]
name = "back"
thickness = "22"
wood = "oak"
blank = { length = "900", width = "1200" }
edges.top = { arch = "segmental", rise = "arch_rise", arch_to = "edge" }
edges.bottom = { points = [["150", "0"], ["300", "42"], ["450", "60"]], from = "150", to = "450", mirror = true }
[[part.hole]]
circle = "60"
at = ["450", "330"]
"""
"""A panel of about twenty sheets of A4, with an arch whose rise is a size."""


def order_of(text: str, given: Mapping[str, str] | None = None, former: Recipe | None = None) -> Order:
    """The order for the pieces of a pattern file, built in the built-in shop."""
    job = request.make(NamedText(text, "piece.toml"), dict(given or {}), SHOP)
    return printing.order_of(job, former, many=False)


def demo_order(name: str) -> Order:
    """The order for a piece of the demo."""
    job = request.make(patternfile.read(DEMO / name), {}, SHOP)
    return printing.order_of(job, None, many=False)
