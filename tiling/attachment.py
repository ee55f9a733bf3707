"""Finding our attachment in a PDF that anyone may have saved since, or made to harm: within bounds of size and work.

Names of attachments stand in a tree (ISO 32000-2, 7.9.6), which some programs deepen when they save; the bytes may be
packed in any of the usual ways. Everything is unpacked under limits, so that a small file can't unpack into a large one.
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patterns.errors import MachineError, PatternError

if TYPE_CHECKING:
    from pypdf import Configuration, PdfReader

LARGEST_PDF_BYTES = 64_000_000
"""2,000 sheets take about 4 MB, and ten times that where another program has unpacked them."""
LARGEST_BYTES = 16_000_000
"""Of the attachment unpacked: 2,000 sheets take about 200 kB."""
MOST_NODES = 1_000
"""Of the tree of names."""
MOST_OBJECTS = 500_000
"""Of the file's own table, all its revisions together."""
LARGEST_TABLE_BYTES = 8 * MOST_OBJECTS
"""Of one revision's table unpacked; there may be thousands in a file that is made to harm."""

DAMAGED = "is damaged: the record that 'curvewright sheets' puts in can't be read"
FOREIGN = "carries no pattern file: it was not made by 'curvewright sheets'"
LOCKED = "is locked with a password; save it without one, or use the PDF as 'curvewright sheets' made it"


def pdf_bytes(path: Path) -> bytes:
    """The bytes of a file that is said to be a PDF.

    Raises PatternError where there is none or it is too large to be ours, MachineError where it can't be read.
    """
    try:
        with path.open("rb") as stream:
            data = stream.read(LARGEST_PDF_BYTES + 1)
    except FileNotFoundError:
        raise PatternError.of("", "there is no such file", str(path)) from None
    except IsADirectoryError:
        raise PatternError.of("", "is a folder, not a PDF", str(path)) from None
    except OSError as error:
        raise MachineError(f"{path}: can't be read: {error.strerror}") from None
    if b"%PDF-" not in data[:1024]:
        raise PatternError.of("", "is not a PDF", path.name)
    if len(data) > LARGEST_PDF_BYTES:
        what = f"is larger than {LARGEST_PDF_BYTES // 1_000_000} MB: no PDF of 'curvewright sheets' is"
        raise PatternError.of("", what, path.name)
    return data


def attachment(data: bytes, wanted: str, name: str) -> bytes:
    """The bytes of the attachment ``wanted`` of a PDF; ``name`` is the PDF's, for what is said.

    Raises PatternError where there is none, or it is damaged, locked, or unpacks into more than it may.
    """
    import pypdf  # late: only a PDF that is read needs it

    try:
        with pypdf.apply_configuration(_limits(LARGEST_TABLE_BYTES)):
            reader = pypdf.PdfReader(io.BytesIO(data), xref_stream_maximum_entries=MOST_OBJECTS)
        with pypdf.apply_configuration(_limits(LARGEST_BYTES)):
            found = _found(reader, wanted)
    except Exception as error:  # whatever a library comes upon in bytes that anyone may have written
        raise PatternError.of("", LOCKED if _is_locked(error) else DAMAGED, name) from error
    if found is None:
        raise PatternError.of("", FOREIGN, name)
    return found


def _limits(most: int) -> Configuration:
    """What a library may do: unpack ``most`` bytes of any stream. Only filters of data are needed, none of pictures."""
    from pypdf import Configuration

    return Configuration(
        maximum_declared_stream_length=LARGEST_PDF_BYTES,
        array_based_stream_maximum_output_length=most,
        zlib_maximum_output_length=most,
        zlib_maximum_recovery_input_length=1_000_000,
        lzw_maximum_output_length=most,
        run_length_maximum_output_length=most,
        brotli_maximum_output_length=most,
        stream_filters_maximum_length=4,
        stream_decoding_work_maximum_length=3 * most,
        jbig2dec_binary=None,
    )


def _found(reader: PdfReader, wanted: str) -> bytes | None:
    names = _of(_of(reader.trailer, "/Root"), "/Names")
    for key, spec in _entries(_of(names, "/EmbeddedFiles")):
        if wanted in (key, _of(spec, "/UF"), _of(spec, "/F")):
            files = _of(spec, "/EF")
            return _unpacked(_of(files, "/F") or _of(files, "/UF"))
    return None


def _unpacked(file: Any) -> bytes:
    """The bytes of an embedded file. Raises ValueError where they are not those that its checksum was made of.

    The unpacking mends what it can, so that a flipped bit would else pass unseen.
    """
    data: bytes = file.get_data()
    checksum = _of(_of(file, "/Params"), "/CheckSum")
    if checksum is not None and _as_bytes(checksum) != hashlib.md5(data, usedforsecurity=False).digest():
        raise ValueError("the attachment's checksum is that of other bytes")
    return data


def _as_bytes(text: Any) -> bytes:
    """A string of a PDF as the bytes that were written, whichever way they were read."""
    return bytes(text) if isinstance(text, bytes) else bytes(text.original_bytes)


def _entries(root: Any) -> Iterator[tuple[str, Any]]:
    """Keys and values of a tree of names, leaf by leaf, each node once. Raises ValueError where it has no end."""
    waiting, seen = [root], 0
    while waiting:
        node = waiting.pop()
        if node is None:
            continue
        seen += 1
        if seen > MOST_NODES:
            raise ValueError("the tree of names is too large, or leads back to itself")
        leaves = _of(node, "/Names") or []
        yield from ((str(_whole(key)), _whole(value)) for key, value in zip(leaves[0::2], leaves[1::2], strict=False))
        waiting += [_whole(kid) for kid in reversed(_of(node, "/Kids") or [])]


def _of(value: Any, key: str) -> Any:
    """An entry of a dictionary; None where there is none, or no dictionary."""
    return _whole(value.get(key)) if isinstance(value, dict) else None


def _whole(value: Any) -> Any:
    """What a reference leads to, None for the PDF's own null."""
    from pypdf.generic import NullObject

    found = value.get_object() if hasattr(value, "get_object") else value
    return None if isinstance(found, NullObject) else found


def _is_locked(error: Exception) -> bool:
    from pypdf.errors import DependencyError, FileNotDecryptedError

    return isinstance(error, (DependencyError, FileNotDecryptedError))
