"""The shop file: from TOML to a Shop, key by key over the built-in default, and where each figure came from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from msgspec import Struct

from patterns.errors import PatternError
from patterns.filetext import NamedText, parse, read
from patterns.mistakes import Mistakes
from patterns.resolve_shop import resolve_shop
from patterns.shop import Shop
from patterns.shopmodel import ShopFileTable
from patterns.tables import meanings, read_table
from patterns.values import Values

__all__ = [
    "DEFAULT_SHOP",
    "FigureInForce",
    "Shop",
    "ShopInForce",
    "default",
    "default_text",
    "find",
    "load",
    "usual_path",
]

DEFAULT_SHOP = "default shop"
"""Where a figure came from that no shop file gives."""


class FigureInForce(Struct, frozen=True):
    """A figure of the shop as written, by its key (``table_saw.kerf``), what it means, and where it came from."""

    key: str
    written: str
    meaning: str
    origin: str


class ShopInForce(Struct, frozen=True):
    """A shop, the text of its file, the name of that file or "default shop", and the origin of every figure."""

    shop: Shop
    text: str
    where: str
    figures: tuple[FigureInForce, ...]


def usual_path() -> Path:
    """Where this platform keeps the shop file of the person who is logged in."""
    from platformdirs import user_config_path  # late: only a command that looks for the file pays for it

    return user_config_path("curvewright", appauthor=False) / "shop.toml"


def find(path: Path | None = None) -> ShopInForce:
    """The shop of the file at ``path``; without one that of the usual file, or else the default shop.

    Raises PatternError with every mistake of the file, or where ``path`` is no file.
    """
    if path is None:
        path = usual_path()
        if not path.exists():
            return load(default_text(), DEFAULT_SHOP)
    source = read(path)
    return load(source.text, source.name)


@cache
def default_text() -> str:
    """The text of the built-in shop file."""
    return Path(__file__).with_name("default_shop.toml").read_text(encoding="utf-8")


@cache
def default() -> Shop:
    """The built-in shop."""
    return load(default_text(), DEFAULT_SHOP).shop


def load(text: str, source: str) -> ShopInForce:
    """The shop that ``text`` describes, what it leaves out taken from the default.

    ``source`` is the name of the file. Raises PatternError with every mistake in it.
    """
    usual = parse(NamedText(default_text(), DEFAULT_SHOP), "")
    own = usual if text == default_text() else parse(NamedText(text, source), "leave it out to use the default shop")
    merged = _merged(usual, own)
    mistakes = Mistakes()
    table = read_table(ShopFileTable, merged, mistakes)
    shop = resolve_shop(table, Values(table.units, mistakes))
    if mistakes.problems:
        raise PatternError(mistakes.problems, source)
    return ShopInForce(shop, text, source, tuple(_figures(merged, own, source)))


def _merged(usual: Mapping[str, Any], own: Mapping[str, Any]) -> dict[str, Any]:
    """``own`` over ``usual``, key by key; a list replaces a list as a whole."""
    result = dict(usual)
    for key, value in own.items():
        under = result.get(key)
        result[key] = _merged(under, value) if isinstance(under, dict) and isinstance(value, dict) else value
    return result


# -------------------------------------------------------------------- what is in force


def _figures(merged: Mapping[str, Any], own: Mapping[str, Any], where: str) -> Iterator[FigureInForce]:
    """Every figure of the shop, in the order of the default shop file."""
    for path, meaning in meanings(ShopFileTable).items():
        origin = where if _found(own, path) is not None else DEFAULT_SHOP
        yield FigureInForce(".".join(path), _spelled(_found(merged, path)), meaning, origin)


def _found(table: Any, path: Sequence[str]) -> Any:
    """What stands at a path of keys, or None."""
    for key in path:
        table = table.get(key) if isinstance(table, dict) else None
    return table


def _spelled(figure: Any) -> str:
    """A figure of the file in words: rows of a list are parted by semicolons, or commas where each is one figure."""
    if isinstance(figure, list):
        rows = [_spelled(row) for row in figure]
        return ("; " if any(isinstance(row, dict) for row in figure) else ", ").join(rows) or "none"
    if isinstance(figure, dict):
        labels = ("" if key == "name" else f"{key.replace('_', ' ')} " for key in figure)
        return ", ".join(label + _spelled(value) for label, value in zip(labels, figure.values(), strict=True))
    return str(figure)
