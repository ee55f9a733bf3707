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
from patterns.errors import PatternError, Problem
from patterns.wording import quoted

if TYPE_CHECKING:
    from tiling.recipe import Recipe

RECORD = "packet.json"
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
            "packet_word": self.packet_word,
            "files": self.file_count,
            "wrong": [{"file": path, "what": what} for path, what in self.wrong],
        }


def receipt_of(path: Path) -> Receipt:
    """Reads a packet and checks it. Raises PatternError where it is none, or could do harm where it is unpacked."""
    packet = opened(path, _is_looked_at)
    if RECORD not in packet.kept or SUMS not in packet.kept:
        missing = " and ".join(name for name in (RECORD, SUMS) if name not in packet.kept)
        raise PatternError.of("", f"is no packet, or not all of one: {missing} is missing", path.name)
    record = _record(packet.kept[RECORD], path.name)
    pattern_file = record["pattern_file"]
    text = packet.kept.get(pattern_file, b"")
    wrong = [*_against_sums(packet), *_against_record(packet, record, text)]
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
        packet.kept.get("pattern/shop.toml", b""),
    )


def not_whole(receipt: Receipt, path: Path) -> PatternError:
    """The error that names all that is wrong with a packet."""
    problems = [Problem(inner, what) for inner, what in receipt.wrong]
    return PatternError([*problems, Problem("", "it is not the packet that was made; ask for it again")], path.name)


def _is_looked_at(path: str) -> bool:
    return path in (RECORD, SUMS) or path.startswith(("pattern/", "sheets/"))


def _record(data: bytes, name: str) -> dict[str, Any]:
    """The packet's own record. Raises PatternError where it makes no sense or is of a newer format."""
    damaged = PatternError.of(RECORD, "makes no sense: the packet is damaged", name)
    try:
        value = json.loads(data)
        newer = int(value["format"]) > FORMAT
        found = {key: str(value[key]) for key in ("title", "revision", "word", "member", "pattern_file")}
        parts, halves = (tuple(str(name) for name in value[key]) for key in ("parts", "halves"))
        sizes = {str(key): str(text) for key, text in value["sizes"].items()}
    except (KeyError, TypeError, ValueError, AttributeError, RecursionError) as error:
        raise damaged from error
    if newer:
        raise PatternError.of(RECORD, f"is of a newer format ({value['format']}; this one reads {FORMAT})", name)
    if not found["pattern_file"].startswith("pattern/"):
        raise damaged
    return {**found, "sizes": sizes, "parts": parts, "halves": halves, "mirrored": value.get("mirrored", False) is True}


def _against_sums(packet: Opened) -> Iterator[tuple[str, str]]:
    """Files that the list of checksums does not tell of, or tells otherwise."""
    listed: dict[str, str] = {}
    try:
        lines = packet.kept[SUMS].decode("utf-8").splitlines()
    except UnicodeDecodeError:
        yield SUMS, "is no text"
        return
    for number, line in enumerate(lines, 1):
        found = _LINE.fullmatch(line)
        if found is None or found[2] in listed:
            yield SUMS, f"line {number} is no checksum of its own"
        else:
            listed[found[2]] = found[1]
    for path, digest in sorted(listed.items()):
        if path not in packet.digests:
            yield path, "is missing"
        elif packet.digests[path] != digest:
            yield path, "was changed"
    for path in sorted(set(packet.digests) - set(listed) - {SUMS}):
        yield path, "was added"


def _against_record(packet: Opened, record: Mapping[str, Any], text: bytes) -> Iterator[tuple[str, str]]:
    """Whether every part of the packet is of one revision: the pattern file, the record, and what each PDF was made from."""
    from tiling.fingerprint import revision_word

    if not text:
        yield record["pattern_file"], "is missing"
    elif revision_word(text.decode("utf-8", "replace"), record["sizes"]) != record["word"]:
        yield record["pattern_file"], "is another revision than the packet says"
    for path, data in sorted(packet.kept.items()):
        if not path.startswith("sheets/"):
            continue
        try:
            carried = _recipe(path, data)
        except PatternError as error:
            yield path, error.problems[0].what
            continue
        if carried.source.text.encode("utf-8") != text or dict(carried.given) != record["sizes"]:
            yield path, "was made from another pattern file, or with other sizes, than the packet holds"
        elif carried.mirrored != record["mirrored"]:
            yield (
                path,
                "is mirrored, and the packet is not" if carried.mirrored else "is not mirrored, and the packet is",
            )
        elif carried.member != record["member"]:
            yield path, f"is for {quoted(carried.member)}, and the packet for {quoted(record['member'])}"


def _recipe(path: str, data: bytes) -> Recipe:
    from tiling import recipe
    from tiling.attachment import attachment

    return recipe.from_bytes(attachment(data, recipe.ATTACHMENT, path), path)
