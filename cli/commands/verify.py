"""``curvewright verify PACKET [FILE]``: whether a packet is whole, which revision it is, how it differs from one's own."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from cli import options, report, request
from patterns.errors import PatternError
from patterns.wording import printable, quoted

if TYPE_CHECKING:
    from cli.comparing import Comparison
    from cli.packets.receipt import Receipt

EPILOG = """\
PACKET is the zip file, or the folder that it was unpacked to. Nothing is written,
and nothing of it is run. With FILE, a pattern file or a PDF of sheets, it says how
the packet differs from that.

Checksums tell of accidents, not of forgers: whoever changes a packet can change them
too. Ask whoever handed it out whether the packet's word is the same; that tells of
mix-ups, and is no signature either.

example:  curvewright verify cradle.zip cradle.toml"""


def describe(parser: argparse.ArgumentParser) -> None:
    """PACKET, FILE, --shop, --json."""
    parser.add_argument("packet", metavar="PACKET", type=Path, help="a packet, or the folder that it was unpacked to")
    parser.add_argument(
        "file", metavar="FILE", type=Path, nargs="?", help=f"what to hold it against: {options.FILE_HELP}"
    )
    options.add_shop(parser)
    options.add_json(parser)
    parser.epilog = EPILOG


def run(arguments: argparse.Namespace) -> None:
    """Says what the packet is. Raises PatternError where it is not whole, when all is said."""
    from cli.packets.receipt import not_whole, receipt_of

    receipt = receipt_of(arguments.packet)
    found = _compared(receipt, arguments) if arguments.file is not None and receipt.is_whole else None
    if arguments.json:
        from cli import comparing_json

        differs = {"compared": comparing_json.of_comparison(found, {})} if found is not None else {}
        report.print_json(receipt.to_json() | differs)
    else:
        print("\n".join(_told(arguments.packet, receipt)))
        if found is not None:
            from cli import comparing_text

            print("\n".join(["", *comparing_text.lines(found)]))
        elif arguments.file is not None:
            print(f"It is not held against {arguments.file}: first it has to be whole.")
    if not receipt.is_whole:
        raise not_whole(receipt, arguments.packet)


def _told(path: Path, receipt: Receipt) -> Iterator[str]:
    state = "whole and unchanged" if receipt.is_whole else "NOT whole"
    count = f"{receipt.file_count} file{'s' * (receipt.file_count != 1)}"
    yield f"{printable(str(path))}: a packet of {printable(receipt.title)}, {state} ({count})"
    given = ", ".join(f"{name} = {value}" for name, value in receipt.sizes.items())
    rows = [
        ("revision", receipt.revision or "not named"),
        ("word of the file and its sizes", receipt.word),
        ("sizes given beside the file", given or "none"),
        ("for", receipt.member or "nobody by name"),
        *([("mirrored", "yes: the mirror image of the piece as drawn")] if receipt.mirrored else []),
        *([("word of the packet", receipt.packet_word)] if receipt.is_whole else []),
    ]
    width = max(len(name) for name, _ in rows)
    yield from (f"  {name:<{width}}  {printable(value)}" for name, value in rows)
    if receipt.is_whole:
        yield "Ask whoever handed it out whether the packet's word is the same: its checksums tell of accidents alone."


def _compared(receipt: Receipt, arguments: argparse.Namespace) -> Comparison:
    """The packet's piece, in its own shop, beside one's own."""
    from cli import comparing
    from patterns import shopfile
    from patterns.filetext import NamedText, decoded

    own = request.read(arguments.file, {}, arguments.shop)
    text = receipt.shop.decode("utf-8", "replace")
    if text and text == own.shop.text:
        shop = own.shop  # one shop, wherever its file lies
    elif text:
        shop = shopfile.load(text, "the packet's shop file")
    else:
        shop = shopfile.load(shopfile.default_text(), shopfile.DEFAULT_SHOP)
    source = NamedText(
        decoded(receipt.text, receipt.pattern_file), f"{receipt.pattern_file} in {arguments.packet.name}"
    )
    try:
        other = replace(request.make(source, receipt.sizes, shop, receipt.parts), mirrored=receipt.mirrored)
    except PatternError as error:
        raise PatternError(error.problems, f"{arguments.packet.name}: {quoted(receipt.pattern_file)}") from error
    return comparing.compared(comparing.sides_of(own, other, arguments.file.name, arguments.packet.name))
