"""What a packet is, and whether it is whole: its files against its checksums, and its parts against one another."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from cli.packets.archive import SUMS
from cli.packets.contents import FORMAT, packet_word
from cli.packets.opened import Opened, opened
from patterns import filetext
from patterns.errors import PatternError, Problem
from patterns.wording import listed, printable, quoted

if TYPE_CHECKING:
    from tiling.recipe import Recipe

RECORD = "packet.json"
SHOP_FILE = "pattern/shop.toml"
LARGEST_RECORD_BYTES = 1_000_000
LARGEST_SUMS_BYTES = 4_000_000
"""As many lines as a packet may have files, each with the longest path."""
LEFT_BY_SYSTEMS = (".DS_Store", "Thumbs.db", "desktop.ini")
"""Files that a system puts into folders that are looked at."""
_LINE = re.compile(r"([0-9a-f]{64})  (\S.*)")


class Receipt(Struct, frozen=True):
    """What a packet holds. ``wrong`` are the reasons why it is not whole and unchanged, by path; empty where it is."""

    folder: str
    title: str
    revision: str
    word: str
    member: str
    sizes: Mapping[str, str]
    packet_word: str
    """The two words that were printed when it was made, if nothing in it was changed since."""
    file_count: int
    wrong: tuple[tuple[str, str], ...]
    text: bytes
    """The pattern file."""
    pattern_file: str
    parts: tuple[str, ...]
    """Those that the packet was made of, where it is not all."""
    halves: tuple[str, ...]
    mirrored: bool
    shop: bytes

    @property
    def is_whole(self) -> bool:
        """Whether nothing is missing, added or changed."""
        return not self.wrong

    def to_json(self) -> dict[str, object]:
        """For a program."""
        return {
            "whole": self.is_whole,
            "title": self.title,
            "revision": self.revision,
            "word": self.word,
            "member": self.member,
            "sizes": dict(self.sizes),
            "mirrored": self.mirrored,
            "packet_word": self.packet_word if self.is_whole else None,
            "files": self.file_count,
            "wrong": [{"file": path, "what": what} for path, what in self.wrong],
        }


def receipt_of(path: Path) -> Receipt:
    """Reads a packet and checks it. Raises PatternError where it is none, or could do harm where it is unpacked."""
    packet = opened(path, _is_looked_at)
    for name in (RECORD, SUMS):
        if name not in packet.kept:
            state = "is damaged" if packet.digests.get(name) == "" else "is missing"
            raise PatternError.of("", f"is no packet, or not all of one: {name} {state}", path.name)
        if len(packet.kept[name]) > (LARGEST_RECORD_BYTES if name == RECORD else LARGEST_SUMS_BYTES):
            raise PatternError.of(name, "is larger than that of any packet", path.name)
    record = _record(packet.kept[RECORD], path.name)
    pattern_file = record["pattern_file"]
    text = packet.kept.get(pattern_file, b"")
    wrong = [*_against_sums(packet), *_of_one_revision(packet, record, text)]
    return Receipt(
        packet.folder,
        record["title"],
        record["revision"],
        record["word"],
        record["member"],
        record["sizes"],
        packet_word(packet.kept[SUMS]),
        len(packet.digests),
        tuple(dict.fromkeys(wrong)),
        text,
        pattern_file.removeprefix("pattern/"),
        record["parts"],
        record["halves"],
        record["mirrored"],
        packet.kept.get(SHOP_FILE, b""),
    )


def not_whole(receipt: Receipt, path: Path) -> PatternError:
    """The error that names all that is wrong with a packet."""
    problems = [Problem(printable(inner), what) for inner, what in receipt.wrong]
    return PatternError([*problems, Problem("", "it is not the packet that was made; ask for it again")], path.name)


def _is_looked_at(path: str) -> bool:
    return path in (RECORD, SUMS) or path.startswith(("pattern/", "sheets/"))


def _record(data: bytes, name: str) -> dict[str, Any]:
    """The packet's own record. Raises PatternError where it makes no sense or is of a newer format."""
    damaged = PatternError.of(RECORD, "makes no sense: the packet is damaged", name)
    try:
        value = json.loads(data)
        json.dumps(value, ensure_ascii=False).encode("utf-8")  # half characters are no text
        newer = int(value["format"]) > FORMAT
        found = {key: _text(value[key]) for key in ("title", "revision", "word", "member", "pattern_file")}
        lists = {key: tuple(_text(one) for one in value[key]) for key in ("parts", "halves", "papers")}
        sizes = {str(key): _text(text) for key, text in value["sizes"].items()}
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError, RecursionError) as error:
        raise damaged from error
    if newer:
        raise PatternError.of(RECORD, f"is of a newer format ({value['format']}; this one reads {FORMAT})", name)
    if not found["pattern_file"].startswith("pattern/"):
        raise damaged
    return {**found, **lists, "sizes": sizes, "mirrored": value.get("mirrored", False) is True}


def _text(value: object) -> str:
    """A text of the record. Raises TypeError for anything else."""
    if not isinstance(value, str):
        raise TypeError(f"{value!r} is no text")
    return value


def _against_sums(packet: Opened) -> Iterator[tuple[str, str]]:
    """Files that the list of checksums does not tell of, or tells otherwise."""
    told: dict[str, str] = {}
    try:
        lines = packet.kept[SUMS].decode("utf-8").splitlines()
    except UnicodeDecodeError:
        yield SUMS, "is no text"
        return
    for number, line in enumerate(lines, 1):
        found = _LINE.fullmatch(line)
        if found is None or found[2] in told:
            yield SUMS, f"line {number} is no checksum of its own"
            return
        told[found[2]] = found[1]
    for path, digest in sorted(told.items()):
        if path not in packet.digests:
            yield path, "is missing"
        elif packet.digests[path] != digest:
            damaged = "is damaged: it does not unpack to what was packed"
            yield path, "was changed" if packet.digests[path] else damaged
    for path in sorted(set(packet.digests) - set(told) - {SUMS}):
        by_itself = path.rsplit("/", 1)[-1] in LEFT_BY_SYSTEMS
        yield path, f"was added{'; some systems put such a file there by themselves' if by_itself else ''}"


# ---------------------------------------------------------------- of one revision


def _of_one_revision(packet: Opened, record: Mapping[str, Any], text: bytes) -> Iterator[tuple[str, str]]:
    """Whether record, pattern file and sheets tell of the same piece in the same revision with the same sizes."""
    yield from _pattern_against_record(record, text)
    if len(packet.kept.get(SHOP_FILE, b"")) > filetext.LARGEST_BYTES:
        yield SHOP_FILE, "is larger than any shop file"
    sheets = sorted(path for path in packet.digests if path.startswith("sheets/"))
    if len(sheets) != len(record["papers"]):
        papers = listed(map(quoted, record["papers"]), "and") if record["papers"] else "none"
        yield RECORD, f"tells of sheets for other papers than there are: {papers}"
    for path in sheets:
        if path in packet.kept:
            yield from ((path, what) for what in _sheets_against_record(packet, path, record, text))
        elif packet.digests[path]:
            yield path, "is too large to be looked into"


def _pattern_against_record(record: Mapping[str, Any], text: bytes) -> Iterator[tuple[str, str]]:
    from tiling.fingerprint import revision_word

    path = record["pattern_file"]
    if not text:
        yield path, "is missing, or empty"
        return
    if len(text) > filetext.LARGEST_BYTES:
        yield path, "is larger than any pattern file"
        return
    if revision_word(text.decode("utf-8", "replace"), record["sizes"]) != record["word"]:
        yield path, "is another revision than the packet says"
    try:
        table = filetext.parse(filetext.NamedText(filetext.decoded(text, path), path), "")
    except PatternError as error:
        yield path, f"is no pattern file: {error.problems[0]}"
        return
    for key in ("title", "revision"):
        own = str(table.get(key, ""))
        if own != record[key]:
            yield path, f"has the {key} {quoted(own)}, and the packet says {quoted(record[key])}"


def _sheets_against_record(packet: Opened, path: str, record: Mapping[str, Any], text: bytes) -> Iterator[str]:
    """What a PDF was made from that is not what the packet holds."""
    try:
        carried = _recipe(path, packet.kept[path])
    except PatternError as error:
        yield error.problems[0].what
        return
    if carried.source.text.encode("utf-8", "replace") != text or dict(carried.given) != record["sizes"]:
        yield "was made from another pattern file, or with other sizes, than the packet holds"
    if carried.shop.encode("utf-8", "replace") != packet.kept.get(SHOP_FILE, b""):
        yield "was made with another shop file than the packet holds"
    if (carried.only, tuple(carried.halves)) != (record["parts"], record["halves"]):
        yield "holds other parts or halves than the packet says"
    if carried.mirrored != record["mirrored"]:
        yield "is mirrored, and the packet is not" if carried.mirrored else "is not mirrored, and the packet is"
    if carried.member != record["member"]:
        yield f"is for {quoted(carried.member)}, and the packet for {quoted(record['member'])}"


def _recipe(path: str, data: bytes) -> Recipe:
    import logging  # late, as the PDF library brings it anyway

    from tiling import recipe
    from tiling.attachment import attachment

    logging.getLogger("pypdf").setLevel(logging.CRITICAL)  # what is wrong is said by our own error
    return recipe.from_bytes(attachment(data, recipe.ATTACHMENT, path), path)
