"""Reading a packet that anyone may have made: within bounds, with nothing written, run or fetched.

A packet is a zip file, or the folder that it was unpacked to. All that looks wrong with how it is packed is named; what its
files hold is looked at only where nothing is.
"""

from __future__ import annotations

import hashlib
import stat
import unicodedata
import zipfile
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import IO

from msgspec import Struct

from patterns.errors import MachineError, PatternError, Problem
from patterns.slug import DEVICES
from patterns.wording import is_unprintable, quoted

LARGEST_ZIP_BYTES = 500_000_000
"""A piece of a hundred parts takes about 30 MB."""
LARGEST_FILE_BYTES = 100_000_000
"""Of one file unpacked: 2,000 sheets take about 4 MB, the DXF of a large part as much."""
LARGEST_WHOLE_BYTES = 1_000_000_000
"""Of all files together unpacked."""
MOST_FILES = 10_000
DEEPEST = 8
"""Folders within one another; a packet has three."""
LONGEST_PATH = 240
"""Letters; some systems take no more than 260 with the folder that a packet is unpacked to."""
MOST_KEPT_BYTES = 64_000_000
"""Of the files whose contents are looked at."""

_CHUNK = 1 << 20
_LOCAL_HEADER = 30
_END_RECORD = 22
_FORBIDDEN = set('<>:"|?*')
_TIMES_PACKED = 1_200
"""No deflated data unpacks into more than 1,032 times its size."""


class Opened(Struct, frozen=True):
    """A packet that was read: the SHA-256 of every file by its path in the packet's folder, and the contents of some."""

    folder: str
    digests: Mapping[str, str]
    kept: Mapping[str, bytes]


def opened(path: Path, is_kept: Callable[[str], bool]) -> Opened:
    """Reads the packet at ``path``; files whose path ``is_kept`` says so are kept as bytes.

    Raises PatternError, with every reason, for what no packet is or what could do harm where it is unpacked, and
    MachineError where it can't be read.
    """
    try:
        if path.is_dir():
            return _read(path.name, _of_folder(path), is_kept)
        if not path.exists():
            raise PatternError.of("", "there is no such file", str(path))
        if not path.is_file():
            raise PatternError.of("", "is no ordinary file", str(path))
        with path.open("rb") as stream:
            return _of_zip(stream, path, is_kept)
    except OSError as error:
        raise MachineError(f"{path}: can't be read: {error.strerror or error}") from None


class _Entry(Struct, frozen=True):
    """A file: its path, its size as declared, and how its bytes are had."""

    path: str
    size: int
    open: Callable[[], IO[bytes]]


# ---------------------------------------------------------------- a folder


def _of_folder(root: Path) -> list[_Entry]:
    found: list[_Entry] = []
    problems: list[Problem] = []
    waiting = [root]
    while waiting:
        folder = waiting.pop()
        for path in sorted(folder.iterdir()):
            inner = path.relative_to(root)
            name = inner.as_posix()
            if path.is_symlink() or not (path.is_dir() or path.is_file()):
                problems.append(Problem(quoted(name), "is a link or a device, and no packet holds one"))
            elif path.is_dir():
                if len(inner.parts) > DEEPEST:
                    problems.append(Problem(quoted(name), f"lies more than {DEEPEST} folders deep"))
                else:
                    waiting.append(path)
            else:
                found.append(_Entry(name, path.stat().st_size, partial(_bytes_of, path)))
            if len(found) + len(problems) > MOST_FILES:
                raise PatternError.of("", f"holds more than {MOST_FILES:,} files, and no packet does", root.name)
    if problems:
        raise PatternError(problems, root.name)
    return found


def _bytes_of(path: Path) -> IO[bytes]:
    return path.open("rb")


# ---------------------------------------------------------------- a zip file


def _of_zip(stream: IO[bytes], path: Path, is_kept: Callable[[str], bool]) -> Opened:
    name = path.name
    size = path.stat().st_size
    if size > LARGEST_ZIP_BYTES:
        raise PatternError.of("", f"is larger than {LARGEST_ZIP_BYTES // 1_000_000} MB, and no packet is", name)
    if stream.read(2) != b"PK":
        raise PatternError.of("", "is no packet: it is neither a zip file nor a folder", name)
    _check_end(stream, size, name)
    try:
        with zipfile.ZipFile(stream) as archive:
            infos = archive.infolist()
            if len(infos) > MOST_FILES:
                raise PatternError.of("", f"holds more than {MOST_FILES:,} files, and no packet does", name)
            problems = [*_entry_problems(infos), *_place_problems(infos, archive.start_dir)]
            if problems:
                raise PatternError(problems, name)
            folder, entries = _in_one_folder(archive, infos, name)
            return _read(folder, entries, is_kept)
    except (PatternError, OSError):
        raise
    except Exception as error:  # whatever a library comes upon in bytes that anyone may have written
        raise PatternError.of("", f"is damaged: {_said(error)}", name) from error


def _check_end(stream: IO[bytes], size: int, name: str) -> None:
    """Raises PatternError where something follows the zip file's own end, or it has none."""
    stream.seek(max(0, size - _END_RECORD))
    if not stream.read(4) == b"PK\x05\x06":
        raise PatternError.of(
            "", "is cut short, or something was added at its end: it does not end as a packet does", name
        )
    stream.seek(0)


def _entry_problems(infos: list[zipfile.ZipInfo]) -> Iterator[Problem]:
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
    mode = info.external_attr >> 16
    kind = stat.S_IFMT(mode)
    if kind not in (0, stat.S_IFREG, stat.S_IFDIR):
        return "is a link or a device, and no packet holds one"
    if info.flag_bits & 0x1:
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


def _place_problems(infos: list[zipfile.ZipInfo], end: int) -> Iterator[Problem]:
    """Entries that lie over one another, or leave room for something that no list tells of."""
    after = 0
    for info in sorted(infos, key=lambda one: one.header_offset):
        if info.header_offset < after:
            yield Problem(quoted(info.orig_filename), "lies over another entry")
        after = info.header_offset + _LOCAL_HEADER + len(info.orig_filename.encode()) + info.compress_size
    if infos and min(info.header_offset for info in infos) != 0:
        yield Problem("", "something stands before the packet's beginning")
    if after > end:
        yield Problem("", "an entry runs into the list of entries")
    if sum(info.file_size for info in infos) > LARGEST_WHOLE_BYTES:
        yield Problem("", f"unpacks into more than {LARGEST_WHOLE_BYTES // 1_000_000_000} GB, and no packet does")


def _in_one_folder(archive: zipfile.ZipFile, infos: list[zipfile.ZipInfo], name: str) -> tuple[str, list[_Entry]]:
    """The one folder that everything lies in, and the files by their paths in it."""
    tops = sorted({info.orig_filename.split("/")[0] for info in infos})
    loose = [info.orig_filename for info in infos if "/" not in info.orig_filename]
    if len(tops) != 1 or loose:
        what = "is no packet: its files do not lie in one folder" if tops else "is empty"
        raise PatternError.of("", what, name)
    folder = tops[0]
    files = [info for info in infos if not info.is_dir()]
    start = len(folder) + 1
    entries = [_Entry(one.orig_filename[start:], one.file_size, partial(archive.open, one)) for one in files]
    return folder, entries


def _said(error: Exception) -> str:
    text = " ".join(str(error).split())[:100]
    return text[:1].lower() + text[1:] if text else "it can't be unpacked"


# ---------------------------------------------------------------- the bytes


def _read(folder: str, entries: list[_Entry], is_kept: Callable[[str], bool]) -> Opened:
    """Every file once, in pieces; raises PatternError where one is larger than it says or than any may be."""
    digests: dict[str, str] = {}
    kept: dict[str, bytes] = {}
    room, whole = MOST_KEPT_BYTES, 0
    for entry in entries:
        digest, parts, size = hashlib.sha256(), [], 0
        keeps = is_kept(entry.path) and entry.size <= room
        with entry.open() as stream:
            while chunk := stream.read(_CHUNK):
                size += len(chunk)
                whole += len(chunk)
                if size > LARGEST_FILE_BYTES or whole > LARGEST_WHOLE_BYTES or size > entry.size:
                    raise PatternError.of(
                        quoted(entry.path), "is larger than it says, or than any file of a packet", folder
                    )
                digest.update(chunk)
                parts += [chunk] if keeps else []
        digests[entry.path] = digest.hexdigest()
        if keeps:
            kept[entry.path] = b"".join(parts)
            room -= size
    return Opened(folder, digests, kept)
