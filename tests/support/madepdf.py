"""PDFs written byte by byte, so that they can be wrong in any way that is wanted."""

from __future__ import annotations

import hashlib
import zlib
from collections.abc import Mapping


def stream(data: bytes, entries: str = "") -> bytes:
    """A stream object's body."""
    return f"<< /Length {len(data)} {entries} >>\nstream\n".encode() + data + b"\nendstream"


def packed(size: int, times: int = 1) -> bytes:
    """At least ``size`` zeros, packed by zlib ``times`` times over: a block of ten million, again and again.

    Its checksum at the end is wrong; nobody should ever get there.
    """
    packer = zlib.compressobj(9)
    head = packer.compress(b"") + packer.flush(zlib.Z_FULL_FLUSH)
    block = packer.compress(bytes(10_000_000)) + packer.flush(zlib.Z_FULL_FLUSH)
    data = head + block * -(-size // 10_000_000)
    for _ in range(times - 1):
        data = zlib.compress(data, 6)
    return data


def pdf(objects: Mapping[int, bytes], trailer: str = "/Root 1 0 R", prev: str = "") -> bytes:
    """A file of these objects with a table of where they are."""
    out, places = bytearray(b"%PDF-1.7\n"), {}
    for number, body in objects.items():
        places[number] = len(out)
        out += f"{number} 0 obj\n".encode() + body + b"\nendobj\n"
    begins = len(out)
    out += b"xref\n0 1\n0000000000 65535 f \n"
    for number, place in places.items():
        out += f"{number} 1\n{place:010d} 00000 n \n".encode()
    here = prev.replace("HERE", str(begins))
    out += f"trailer\n<< /Size {max(objects) + 1} {trailer} {here} >>\nstartxref\n{begins}\n%%EOF\n".encode()
    return bytes(out)


def with_attachment(body: bytes, tree: bytes = b"<< /Names [(sheets.json) 4 0 R] >>", **more: bytes) -> bytes:
    """A file that carries ``body`` (a whole object) as the attachment sheets.json; ``more`` are objects by number (o7)."""
    objects = {
        1: b"<< /Type /Catalog /Pages 2 0 R /Names << /EmbeddedFiles 3 0 R >> >>",
        2: b"<< /Type /Pages /Count 0 /Kids [] >>",
        3: tree,
        4: b"<< /Type /Filespec /F (sheets.json) /UF (sheets.json) /EF << /F 5 0 R >> >>",
        5: body,
        **{int(name[1:]): text for name, text in more.items()},
    }
    return pdf(objects)


def by_xref_stream(first: bytes, entries: str, table: bytes) -> bytes:
    """A file whose table is a stream object: ``first`` is what stands before it, ``table`` its packed bytes."""
    out = b"%PDF-1.7\n" + first
    begins = len(out)
    out += b"9 0 obj\n" + stream(table, f"/Type /XRef /Filter /FlateDecode /Root 1 0 R {entries}") + b"\nendobj\n"
    return out + f"startxref\n{begins}\n%%EOF\n".encode()


def md5(data: bytes) -> str:
    """As a PDF's checksum in hexadecimal."""
    return hashlib.md5(data).hexdigest()
