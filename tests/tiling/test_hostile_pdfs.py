"""PDFs made to exhaust memory or time when they are opened, and good ones that other programs have saved again."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from functools import cache
from pathlib import Path

import fromfile
import madepdf
import pikepdf
import pymupdf
import pytest

from patterns.errors import PatternError
from tiling import attachment, job, recipe
from tiling.form import SheetForm
from tiling.paper import paper

STOOL = """\
curvewright = 1
title = "Step stool"
units = "in"
[[part]]
name = "tread"
blank = { length = "12", width = "9" }
"""

GIGA = 1_000_000_000
MEMORY = GIGA
"""Bytes of address space for a reader: the libraries themselves take about half of it."""
PATIENCE_S = 120

READ_ALL = f"""
import contextlib, io, json, resource, sys
resource.setrlimit(resource.RLIMIT_AS, ({MEMORY}, {MEMORY}))
from cli.main import run
told = {{}}
for name in sys.argv[2:]:
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()) as said:
        status = run(["reprint", name, sys.argv[1], "-o", name + ".new.pdf"])
    told[name] = [status, said.getvalue()]
print(json.dumps(told))
"""


@cache
def made() -> bytes:
    return job.make_sheets(fromfile.order_of(STOOL), SheetForm(paper("letter"), grid_mm=25.4 / 8)).data


@cache
def record() -> bytes:
    return job.make_sheets(fromfile.order_of(STOOL), SheetForm(paper("letter"), grid_mm=25.4 / 8)).recipe.to_bytes()


# ---------------------------------------------------------------- made to harm


def hostile() -> dict[str, bytes]:
    flate, embedded = "/Filter /FlateDecode", "/Type /EmbeddedFile"
    good = madepdf.stream(record(), embedded)
    ten_gigabytes = madepdf.packed(10 * GIGA, times=2)
    in_object_stream = madepdf.stream(madepdf.packed(2 * GIGA), "/Type /ObjStm /N 1 /First 4 /Filter /FlateDecode")
    catalog = b"1 0 obj\n<< /Type /Catalog /Names 6 0 R >>\nendobj\n8 0 obj\n" + in_object_stream + b"\nendobj\n"
    row = b"\1" + (9).to_bytes(4, "big") + b"\0"
    hidden = b"\2" + (8).to_bytes(4, "big") + b"\0"
    return {
        "10 GB of zeros": madepdf.with_attachment(
            madepdf.stream(ten_gigabytes, f"{embedded} /Filter [/FlateDecode /FlateDecode]")
        ),
        "four times packed": madepdf.with_attachment(
            madepdf.stream(madepdf.packed(2 * GIGA, times=4), f"{embedded} /Filter [{'/FlateDecode ' * 4}]")
        ),
        "a hundred filters": madepdf.with_attachment(
            madepdf.stream(b"x", f"{embedded} /Filter [{'/FlateDecode ' * 100}]")
        ),
        "a huge predictor": madepdf.with_attachment(
            madepdf.stream(
                madepdf.packed(GIGA),
                f"{embedded} {flate} /DecodeParms << /Predictor 15 /Columns 2000000000 /Colors 4 >>",
            )
        ),
        "an object stream": madepdf.by_xref_stream(
            catalog, "/Size 10 /W [1 4 1] /Index [1 1 6 1 8 1]", madepdf.zlib.compress(row + hidden + row)
        ),
        "an xref stream": madepdf.by_xref_stream(
            catalog, "/Size 300000000 /W [1 4 1] /Index [0 300000000]", madepdf.packed(2 * GIGA)
        ),
        "an xref stream that says little": madepdf.by_xref_stream(catalog, "/Size 9 /W [1 4 1]", madepdf.packed(GIGA)),
        "many xref streams, each in bounds": chained_tables(100),
        "a deep array": madepdf.with_attachment(good, tree=b"<< /Names " + b"[" * 200_000 + b"]" * 200_000 + b" >>"),
        "a deep dictionary": madepdf.with_attachment(good, tree=b"<< /K " * 100_000 + b">> " * 100_000),
        "a tree that leads back": madepdf.with_attachment(
            good, tree=b"<< /Kids [6 0 R 6 0 R] >>", o6=b"<< /Kids [3 0 R] >>"
        ),
        "a tree of itself": madepdf.with_attachment(good, tree=b"<< /Kids [3 0 R 3 0 R 3 0 R] >>"),
        "a reference to itself": madepdf.with_attachment(b"5 0 R"),
        "tables in a circle": madepdf.pdf({1: b"<< /Type /Catalog >>"}, prev="/Prev HERE"),
        "a length of its own": madepdf.with_attachment(b"<< /Length 5 0 R >>\nstream\nabc\nendstream"),
        "an endless length": madepdf.with_attachment(b"<< /Length 99999999999 >>\nstream\nabc\nendstream"),
        "a page tree that leads back": madepdf.pdf(
            {1: b"<< /Type /Catalog /Pages 2 0 R >>", 2: b"<< /Type /Pages /Count 9 /Kids [2 0 R 2 0 R] >>"}
        ),
        "no table at all": b"%PDF-1.7\n" + b"1 0 obj\n<< /Type /Catalog >>\nendobj\n" * 20_000,
        "only beginnings": b"%PDF-1.7\n" + b"1 0 obj <<" * 50_000,
        "half a million digits": b"%PDF-1.7\n" + b"9" * 500_000 + b"\nstartxref\n9\n%%EOF",
        "a number of many digits": madepdf.with_attachment(
            good, tree=b"<< /Names [(sheets.json) " + b"9" * 50_000 + b" 0 R] >>"
        ),
        "a deep record": madepdf.with_attachment(madepdf.stream(b"[" * 5_000_000, embedded)),
        "a record of digits": madepdf.with_attachment(
            madepdf.stream(b'{"format":' + b"9" * 5_000_000 + b"}", embedded)
        ),
    }


def chained_tables(count: int) -> bytes:
    """Revision upon revision, each with a table that unpacks into nearly as much as it may."""
    table = madepdf.zlib.compress(bytes(3_900_000), 9)
    out, before = bytearray(b"%PDF-1.7\n"), ""
    for k in range(count):
        begins = len(out)
        entries = f"/Type /XRef /Filter /FlateDecode /Root 1 0 R /Size 4000 /W [1 4 1] {before}"
        out += f"{k + 10} 0 obj\n".encode() + madepdf.stream(table, entries) + b"\nendobj\n"
        before = f"/Prev {begins}"
    return bytes(out) + f"startxref\n{begins}\n%%EOF\n".encode()


@pytest.mark.skipif(sys.platform != "linux", reason="limits of memory as Linux has them")
def test_no_pdf_takes_much_memory_or_time_to_refuse(tmp_path: Path) -> None:
    """In a process that may take 1 GB: each is refused in one line that names it, and nothing is written."""
    file = tmp_path / "stool.toml"
    file.write_text(STOOL, encoding="utf-8")
    names = {}
    for k, (what, data) in enumerate(hostile().items()):
        names[str(tmp_path / f"old{k}.pdf")] = what
        (tmp_path / f"old{k}.pdf").write_bytes(data)
    done = subprocess.run(
        [sys.executable, "-c", READ_ALL, str(file), *names],
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
        check=True,
    )
    for name, (status, said) in json.loads(done.stdout).items():
        what = names[name]
        assert (status, said.count("\n")) == (1, 1), (what, said)
        assert said.startswith(f"{Path(name).name}: "), (what, said)
        assert "is damaged" in said or "carries no pattern file" in said, (what, said)
    assert not list(tmp_path.glob("*.new.pdf"))


def test_a_file_larger_than_any_of_ours_is_not_read(tmp_path: Path) -> None:
    huge = tmp_path / "huge.pdf"
    with huge.open("wb") as out:
        out.write(made())
        out.truncate(3 * GIGA)
    with pytest.raises(PatternError, match="larger than 64 MB"):
        recipe.read(huge)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="where there is such a device")
def test_a_device_without_end_is_no_pdf() -> None:
    with pytest.raises(PatternError, match="not a PDF"):
        recipe.read(Path("/dev/zero"))


def test_a_flipped_bit_that_unpacking_would_mend_is_found_by_the_checksum() -> None:
    """A record that reads well and is not the one that was written: its digest would keep a wrong sheet."""
    other = record().replace(b"Step stool", b"Step steel")
    params = f"<< /Size {len(other)} /CheckSum <{madepdf.md5(record())}> >>"
    data = madepdf.with_attachment(madepdf.stream(other, f"/Type /EmbeddedFile /Params {params}"))
    with pytest.raises(PatternError, match="is damaged"):
        attachment.attachment(data, recipe.ATTACHMENT, "old.pdf")


# ---------------------------------------------------------------- saved again by another program


def by_pikepdf(**save: object) -> bytes:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(made())) as document:
        document.save(out, **save)  # type: ignore[arg-type]
    return out.getvalue()


def by_pymupdf(**save: object) -> bytes:
    with pymupdf.open(stream=made()) as document:
        return document.tobytes(**save)


def with_more_attachments() -> bytes:
    """So many that the tree of names gets branches."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(made())) as document:
        for k in range(200):
            name = f"{chr(ord('a') + k % 26)}note{k}.txt"
            document.attachments[name] = pikepdf.AttachedFileSpec(document, b"note", filename=name)
        assert "/Kids" in document.Root.Names.EmbeddedFiles
        document.save(out)
    return out.getvalue()


def with_one_more_page() -> bytes:
    with pymupdf.open(stream=made()) as document:
        document.new_page()
        return document.tobytes()


SAVED = {
    "pikepdf": by_pikepdf,
    "pikepdf, for the web": lambda: by_pikepdf(linearize=True),
    "pikepdf, objects in streams": lambda: by_pikepdf(object_stream_mode=pikepdf.ObjectStreamMode.generate),
    "pikepdf, unpacked": lambda: by_pikepdf(stream_decode_level=pikepdf.StreamDecodeLevel.all, compress_streams=False),
    "pikepdf, rc4": lambda: by_pikepdf(encryption=pikepdf.Encryption(owner="x", R=3, aes=False, metadata=False)),
    "pymupdf": by_pymupdf,
    "pymupdf, cleaned": lambda: by_pymupdf(garbage=4, deflate=True, clean=True),
    "pymupdf, ascii": lambda: by_pymupdf(ascii=True, expand=255),
    "many attachments": with_more_attachments,
    "one more page": with_one_more_page,
}


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("program", SAVED)
def test_a_pdf_that_another_program_saved_is_still_ours(program: str, tmp_path: Path) -> None:
    file = tmp_path / "old.pdf"
    file.write_bytes(SAVED[program]())
    assert recipe.read(file).to_bytes() == record()


def test_one_that_is_locked_says_so(tmp_path: Path) -> None:
    file = tmp_path / "old.pdf"
    file.write_bytes(by_pikepdf(encryption=pikepdf.Encryption(owner="x", user="y", R=3, aes=False, metadata=False)))
    with pytest.raises(PatternError, match=r"old\.pdf: is locked with a password"):
        recipe.read(file)


def test_one_in_a_cipher_that_we_lack_says_so(tmp_path: Path) -> None:
    """AES needs a library that is not among ours; where it is there, the file is read."""
    file = tmp_path / "old.pdf"
    file.write_bytes(by_pikepdf(encryption=pikepdf.Encryption(owner="x", R=6)))
    try:
        assert recipe.read(file).to_bytes() == record()
    except PatternError as error:
        assert "is locked with a password" in str(error)
