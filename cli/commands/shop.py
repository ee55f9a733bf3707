"""``curvewright shop``: the machines, bits and habits in force, and where each figure came from."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from cli import options, report

if TYPE_CHECKING:
    from patterns.shopfile import ShopInForce

EPILOG = """\
A shop file says what is true of your shop and of no piece: its saws, blades, bits,
drums and habits. What it leaves out is taken from a default shop of common
practice. --text prints that default, as a file to begin yours from.

example:  curvewright shop --shop bench.toml"""


def describe(parser: argparse.ArgumentParser) -> None:
    """--shop, --text, --json."""
    options.add_shop(parser)
    parser.add_argument("--text", action="store_true", help="print the text of the shop file in force, and stop")
    options.add_json(parser)
    parser.epilog = EPILOG


def run(arguments: argparse.Namespace) -> None:
    """Prints the table."""
    from patterns import shopfile

    shop = shopfile.find(arguments.shop)
    if arguments.text:
        print(shop.text, end="")
    elif arguments.json:
        report.print_json(_json(shop))
    else:
        print("\n".join(_told(shop)))


def _json(shop: ShopInForce) -> dict[str, object]:
    figures = [
        {"figure": figure.key, "written": figure.written, "meaning": figure.meaning, "from": figure.origin}
        for figure in shop.figures
    ]
    return {"shop": shop.where, "figures": figures}


def _told(shop: ShopInForce) -> list[str]:
    from patterns import shopfile

    if shop.where == shopfile.DEFAULT_SHOP:
        lines = [
            "The default shop is in force: common practice, not your machines.",
            f"Your own goes into {shopfile.usual_path()}, or is named by --shop.",
        ]
    else:
        lines = [f"The shop of {shop.where} is in force; what it leaves out is the default shop's."]
    rows = [(figure.key, figure.origin, f"{figure.written}  [{figure.meaning}]") for figure in shop.figures]
    return [*lines, "", *report.table(("figure", "from", "in force"), rows)]
