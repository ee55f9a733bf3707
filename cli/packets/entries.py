"""What may be wrong with the entries of a zip file that anyone may have packed: names, kinds, places, a second meaning.

Section numbers are those of PKWARE's APPNOTE.TXT, version 6.3.10, which says what a zip file is.
"""

from __future__ import annotations

import stat
import struct
import unicodedata
import zipfile
from collections.abc import Iterator, Sequence
from typing import IO

from patterns.errors import Problem
from patterns.slug import DEVICES
from patterns.wording import is_unprintable, quoted

LARGEST_FILE_BYTES = 100_000_000
"""Of one file unpacked: 2,000 sheets take about 4 MB, the DXF of a large part as much."""
LARGEST_WHOLE_BYTES = 1_000_000_000
"""Of all files together unpacked."""
MOST_FILES = 10_000
DEEPEST = 8
"""Folders within one another; a packet has three."""
LONGEST_PATH = 240
"""Letters; some systems take no more than 260 with the folder that a packet is unpacked to."""
LARGEST_LISTED_BYTES = 2_000
"""Of an entry in the list at the end: 46, its name, and the dates and rights that other programs add."""

_END = struct.Struct("<4s4H2IH")
_LOCAL = struct.Struct("<4s5H3I2H")
_EXTRA = struct.Struct("<HH")
_LOCATOR_BYTES = 20
_LOCKED, _FOLLOWED = 0x1, 0x8
"""Flags (4.4.4): locked with a password; checksum and sizes follow the packed bytes."""
_IN_EXTRA_FIELD = 0xFFFFFFFF
"""Stands for a size that is told elsewhere (4.5.3)."""
_UNICODE_PATH = 0x7075
_FORBIDDEN = set('<>:"|?*')
_TIMES_PACKED = 1_200
"""No deflated data unpacks into more than 1,032 times its size."""


class ListAtEnd(zipfile.BadZipFile):
    """The end of a zip file is not as a packet's; the text says how."""


def entry_count(stream: IO[bytes], size: int) -> int:
    """How many entries the list at the end holds by its own word (4.3.16), before any of it is read.

    Raises ListAtEnd where the list is longer than any packet's, does not reach to the end, or something follows it.
    """
    stream.seek(max(0, size - _END.size - _LOCATOR_BYTES))
    tail = stream.read()
    if len(tail) < _END.size or tail[-_END.size :][:4] != b"PK\x05\x06" or tail[-2:] != b"\0\0":
        raise ListAtEnd("is cut short, or something was added at its end: it does not end as a packet does")
    _, disk, first_disk, here, count, length, start, _ = _END.unpack(tail[-_END.size :])
    if disk or first_disk or here != count or tail.startswith(b"PK\x06\x07"):
        raise ListAtEnd("is packed in a way that packets are not: in several pieces, or as files over 4 GB are")
    if count > MOST_FILES or length > MOST_FILES * LARGEST_LISTED_BYTES:
        raise ListAtEnd(f"holds more than {MOST_FILES:,} files, and no packet does")
    if start + length != size - _END.size:
        raise ListAtEnd("is damaged, or something stands before the packet's beginning or behind its list of files")
    return int(count)


def entry_problems(infos: Sequence[zipfile.ZipInfo]) -> Iterator[Problem]:
    """What is wrong with the names and kinds of the entries."""
    taken: dict[str, str] = {}
    for info in infos:
        name = info.orig_filename
        place = quoted(name)
        wrong = _wrong_name(name, encoded=bool(info.flag_bits & 0x800)) or _wrong_kind(info)
        if wrong:
            yield Problem(place, wrong)
        alike = unicodedata.normalize("NFC", name.rstrip("/")).casefold()
        if alike in taken:
            same = f"is the same name as {quoted(taken[alike])} on some systems"
            yield Problem(place, "stands in it twice" if taken[alike] == name else same)
        taken[alike] = name
    if sum(info.file_size for info in infos) > LARGEST_WHOLE_BYTES:
        yield Problem("", f"unpacks into more than {LARGEST_WHOLE_BYTES // 1_000_000_000} GB, and no packet does")


def _wrong_name(name: str, *, encoded: bool) -> str:
    """Why no entry of a packet has this name; empty where one may. ``encoded`` says that it is UTF-8 by its own word."""
    steps = name.rstrip("/").split("/")
    if not name or name.startswith("/") or (len(name) > 1 and name[1] == ":"):
        return "leads to a place of its own, not into the packet's folder"
    if "\\" in name or ".." in steps or "." in steps or "" in steps:
        return "leads out of the packet's folder, or goes round about"
    if len(name) > LONGEST_PATH:
        return f"is longer than {LONGEST_PATH} letters"
    if len(steps) > DEEPEST + 1:
        return f"lies more than {DEEPEST} folders deep"
    if not encoded and not name.isascii():
        return "is written in an encoding that it does not name"
    if any(is_unprintable(c) for c in name) or set(name) & _FORBIDDEN:
        return "holds a character that some system allows in no name"
    if any(step != step.rstrip(" .") or step.split(".")[0].casefold() in DEVICES for step in steps):
        return "is a name that some system keeps for itself"
    return ""


def _wrong_kind(info: zipfile.ZipInfo) -> str:
    """Why no packet holds such an entry; empty where one may."""
    kind = stat.S_IFMT(info.external_attr >> 16)
    if kind not in (0, stat.S_IFREG, stat.S_IFDIR):
        return "is a link or a device, and no packet holds one"
    if info.flag_bits & _LOCKED:
        return "is locked with a password"
    if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        return "is packed in a way that packets are not"
    if info.file_size > LARGEST_FILE_BYTES:
        return f"unpacks into {info.file_size:,} bytes, and no file of a packet is so large"
    if info.file_size > _TIMES_PACKED * max(info.compress_size, 1):
        return "says that it unpacks into more than it can"
    if info.is_dir() and info.file_size:
        return "is a folder that holds data"
    return ""


# ---------------------------------------------------------------- the list against the entries themselves


def place_problems(stream: IO[bytes], infos: Sequence[zipfile.ZipInfo], end: int) -> Iterator[Problem]:
    """Entries that say otherwise than the list, lie over one another, or leave room for bytes that no list tells of.

    Such a file is one thing to a program that reads the list and another to one that reads from the front. ``end`` is
    where the list begins.
    """
    after = 0
    for info in sorted(infos, key=lambda one: one.header_offset):
        place = quoted(info.orig_filename)
        if info.header_offset < after:
            yield Problem(place, "lies over another entry")
        elif info.header_offset > after:
            yield Problem(place, "stands behind bytes that no list tells of")
        stream.seek(info.header_offset)
        head = stream.read(_LOCAL.size)
        if len(head) < _LOCAL.size or not head.startswith(b"PK\x03\x04"):
            yield Problem(place, "has no beginning where the packet's own list says")
            return
        *_, name_length, extra_length = _LOCAL.unpack(head)
        name, extra = stream.read(name_length), stream.read(extra_length)
        wrong = _disagreement(info, head, name) or _second_name(info, extra)
        if wrong:
            yield Problem(place, wrong)
        packed_end = info.header_offset + _LOCAL.size + name_length + extra_length + info.compress_size
        stream.seek(packed_end)
        after = packed_end + _follower(info, stream.read(24))
    if after > end:
        yield Problem("", "an entry runs into the list of entries")
    elif after < end:
        yield Problem("", "holds bytes behind its last file that no list tells of")


def _disagreement(info: zipfile.ZipInfo, head: bytes, name: bytes) -> str:
    """What an entry's own beginning (4.3.7) says otherwise than the list; empty where nothing."""
    _, _, flags, packing, _, _, checksum, packed, size, _, _ = _LOCAL.unpack(head)
    told = [
        ("its name", name, _raw_name(info)),
        ("whether it is locked", flags & _LOCKED, info.flag_bits & _LOCKED),
        ("how it is packed", packing, info.compress_type),
    ]
    if not flags & _FOLLOWED:
        told += [
            ("its checksum", checksum, info.CRC),
            ("its packed size", packed, packed if packed == _IN_EXTRA_FIELD else info.compress_size),
            ("its size", size, size if size == _IN_EXTRA_FIELD else info.file_size),
        ]
    differing = [what for what, own, listed in told if own != listed]
    return f"says otherwise of {differing[0]} than the packet's own list" if differing else ""


def _raw_name(info: zipfile.ZipInfo) -> bytes:
    return info.orig_filename.encode("utf-8" if info.flag_bits & 0x800 else "cp437", "replace")


def _second_name(info: zipfile.ZipInfo, extra: bytes) -> str:
    """Whether a field for other programs (4.6.9) names the entry otherwise."""
    names = {data[5:] for field in (info.extra, extra) for kind, data in _fields(field) if kind == _UNICODE_PATH}
    return "has a second name, which some programs unpack it to" if names - {info.orig_filename.encode()} else ""


def _fields(extra: bytes) -> Iterator[tuple[int, bytes]]:
    """The kinds and contents of what stands behind a name (4.5.1), as far as it makes sense."""
    at = 0
    while at + _EXTRA.size <= len(extra):
        kind, length = _EXTRA.unpack_from(extra, at)
        yield kind, extra[at + _EXTRA.size : at + _EXTRA.size + length]
        at += _EXTRA.size + length


def _follower(info: zipfile.ZipInfo, behind: bytes) -> int:
    """How many bytes of checksum and sizes follow the packed bytes (4.3.9): with or without a mark, in two widths."""
    if not info.flag_bits & _FOLLOWED:
        return 0
    for mark in (b"PK\x07\x08", b""):
        for form in ("<3I", "<I2Q"):
            told = mark + struct.pack(form, info.CRC, info.compress_size, info.file_size)
            if behind.startswith(told):
                return len(told)
    return 0
