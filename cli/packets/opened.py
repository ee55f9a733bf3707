"""Reading a packet that anyone may have made: within bounds, with nothing written, run or fetched.

A packet is a zip file, or the folder that it was unpacked to. All that looks wrong with how it is packed is named; what its
files hold is looked at only where nothing is.
"""

from __future__ import annotations

import hashlib
import zipfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from itertools import islice
from pathlib import Path
from typing import IO

from msgspec import Struct

from cli.packets.entries import (
    DEEPEST,
    LARGEST_FILE_BYTES,
    LARGEST_WHOLE_BYTES,
    MOST_FILES,
    ListAtEnd,
    entry_count,
    entry_problems,
    place_problems,
)
from patterns.errors import MachineError, PatternError, Problem
from patterns.wording import quoted

LARGEST_ZIP_BYTES = 500_000_000
"""A piece of a hundred parts takes about 30 MB."""
MOST_KEPT_BYTES = 64_000_000
"""Of the files whose contents are looked at."""
MOST_TOLD = 40
"""Problems of one kind; nobody reads on."""

_CHUNK = 1 << 20


class Opened(Struct, frozen=True):
    """A packet that was read: the SHA-256 of every file by its path in the packet's folder, and the contents of some.

    The SHA-256 of a file that does not unpack is empty.
    """

    folder: str
    digests: Mapping[str, str]
    kept: Mapping[str, bytes]


def opened(path: Path, is_kept: Callable[[str], bool]) -> Opened:
    """Reads the packet at ``path``; files whose path ``is_kept`` says so are kept as bytes, the small ones first, as far as
    ``MOST_KEPT_BYTES`` go.

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
    waiting, seen = [root], 0
    while waiting:
        for path in sorted(waiting.pop().iterdir()):
            seen += 1
            if seen > MOST_FILES:
                raise PatternError.of("", f"holds more than {MOST_FILES:,} files, and no packet does", root.name)
            inner = path.relative_to(root)
            name = inner.as_posix()
            if path.is_symlink() or not (path.is_dir() or path.is_file()):
                problems.append(Problem(quoted(name), "is a link or a device, and no packet holds one"))
            elif path.is_file():
                found.append(_Entry(name, path.stat().st_size, partial(_bytes_of, path)))
            elif len(inner.parts) > DEEPEST:
                problems.append(Problem(quoted(name), f"lies more than {DEEPEST} folders deep"))
            else:
                waiting.append(path)
    if problems:
        raise PatternError(_few(problems), root.name)
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
    try:
        count = entry_count(stream, size)
        stream.seek(0)
        with zipfile.ZipFile(stream) as archive:
            infos = archive.infolist()
            if len(infos) != count:
                raise ListAtEnd(f"is damaged: it says that it holds {count} entries, and its list has {len(infos)}")
            problems = _few(entry_problems(infos)) or _few(place_problems(stream, infos, archive.start_dir))
            if problems:
                raise PatternError(problems, name)
            folder, entries = _in_one_folder(archive, infos, name)
            return _read(folder, entries, is_kept)
    except (PatternError, OSError, MemoryError):
        raise
    except ListAtEnd as error:
        raise PatternError.of("", str(error), name) from error
    except UnicodeDecodeError as error:
        raise PatternError.of("", "is damaged: a name in it says that it is UTF-8, and is not", name) from error
    except Exception as error:  # whatever a library comes upon in bytes that anyone may have written
        raise PatternError.of("", "is damaged: its list of files can't be read", name) from error


def _in_one_folder(archive: zipfile.ZipFile, infos: Sequence[zipfile.ZipInfo], name: str) -> tuple[str, list[_Entry]]:
    """The one folder that everything lies in, and the files by their paths in it."""
    tops = sorted({info.orig_filename.split("/")[0] for info in infos})
    loose = [info.orig_filename for info in infos if "/" not in info.orig_filename]
    if not tops:
        raise PatternError.of("", "is empty", name)
    if len(tops) > 1 or loose:
        more = f" and {len(tops) - 3} more" if len(tops) > 3 else ""
        what = "is no packet: its files do not lie in one folder, but in or as"
        raise PatternError.of("", f"{what} {', '.join(map(quoted, tops[:3]))}{more}", name)
    folder = tops[0]
    files = [info for info in infos if not info.is_dir()]
    start = len(folder) + 1
    entries = [_Entry(one.orig_filename[start:], one.file_size, partial(archive.open, one)) for one in files]
    return folder, entries


def _few(problems: Iterable[Problem]) -> list[Problem]:
    """The first of them, and that there are more."""
    found = list(islice(problems, MOST_TOLD + 1))
    return found if len(found) <= MOST_TOLD else [*found[:-1], Problem("", "and more of this kind")]


# ---------------------------------------------------------------- the bytes


def _read(folder: str, entries: Iterable[_Entry], is_kept: Callable[[str], bool]) -> Opened:
    """Every file once, in pieces. Raises PatternError where they unpack into more than any packet."""
    digests: dict[str, str] = {}
    kept: dict[str, bytes] = {}
    room, whole = MOST_KEPT_BYTES, 0
    for entry in sorted(entries, key=lambda one: (one.size, one.path)):
        if entry.size > LARGEST_FILE_BYTES:
            raise PatternError.of(quoted(entry.path), "is larger than any file of a packet", folder)
        keeps = is_kept(entry.path) and entry.size <= room
        digests[entry.path], data = _unpacked(entry, keeps)
        if keeps and digests[entry.path]:
            kept[entry.path] = data
            room -= len(data)
        whole += entry.size
        if whole > LARGEST_WHOLE_BYTES:
            raise PatternError.of("", f"holds more than {LARGEST_WHOLE_BYTES // 1_000_000_000} GB", folder)
    return Opened(folder, digests, kept)


def _unpacked(entry: _Entry, keeps: bool) -> tuple[str, bytes]:
    """A file's SHA-256, empty if it does not unpack to as much as it says, and its bytes if it ``keeps`` them."""
    digest, size = hashlib.sha256(), 0
    parts: list[bytes] = []
    try:
        with entry.open() as stream:
            while size <= entry.size and (chunk := stream.read(_CHUNK)):
                size += len(chunk)
                digest.update(chunk)
                parts += [chunk] if keeps else []
    except (OSError, MemoryError):
        raise
    except Exception:  # whatever a library comes upon in bytes that anyone may have written
        return "", b""
    return (digest.hexdigest(), b"".join(parts)) if size == entry.size else ("", b"")
