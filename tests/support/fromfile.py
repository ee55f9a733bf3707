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


def order_of(text: str, given: Mapping[str, str] | None = None, former: Recipe | None = None) -> Order:
    """The order for the pieces of a pattern file, built in the built-in shop."""
    job = request.make(NamedText(text, "piece.toml"), dict(given or {}), SHOP)
    return printing.order_of(job, former, many=False)


def demo_order(name: str) -> Order:
    """The order for a piece of the demo."""
    job = request.make(patternfile.read(DEMO / name), {}, SHOP)
    return printing.order_of(job, None, many=False)
