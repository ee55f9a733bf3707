"""The record that a printed job carries, read back from its PDF; and PDFs that are damaged, foreign or newer."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from functools import cache
from pathlib import Path

import fromfile
import handmade
import pikepdf
import pymupdf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from patterns.affine import Affine
from patterns.errors import MachineError, PatternError
from tiling import job, recipe
from tiling.form import SheetForm
from tiling.paper import paper
from tiling.printer import Printer
from tiling.recipe import Recipe

TEXT = """\
curvewright = 1
title = "Shelf, é ½ ″"
units = "in"
[sizes]
rise = "2"
[[part]]
name = "shelf"
blank = { length = "14", width = "7" }
edges.top = { arch = "segmental", rise = "rise", arch_to = "edge" }
"""


@cache
def made() -> job.Printed:
    order = fromfile.order_of(TEXT, {"rise": "1 3/4"})
    return job.make_sheets(order, SheetForm(paper("letter"), grid_mm=25.4 / 8))


def read(data: bytes, folder: Path) -> Recipe:
    file = folder / "old.pdf"
    file.write_bytes(data)
    return recipe.read(file)


def test_it_comes_back_whole(tmp_path: Path) -> None:
    back = read(made().data, tmp_path)
    assert back.to_bytes() == made().recipe.to_bytes()
    assert back.source.text == TEXT
    assert dict(back.given) == {"rise": "1 3/4"}
    assert back.patterns[0].layout.lattice == made().dealt[0].layout.lattice
    assert dict(back.patterns[0].sheets) == {s.sheet.cell: s.sheet.digest for s in made().sheets}


def test_a_printer_correction_comes_back(tmp_path: Path) -> None:
    shape = handmade.arched_panel(300, 300, 40)
    correction = Affine.scaling(1.0031, 0.9987)
    printer = Printer("study", correction, 0.0006)
    printed = job.make_sheets(handmade.order_of(shape.pattern), SheetForm(paper("A4"), printer=printer))
    back = read(printed.data, tmp_path)
    assert back.form.printer == printer
    assert back.patterns[0].layout.lattice.form.printer == printer
    assert back.patterns[0].layout.to_drawing == printed.dealt[0].layout.to_drawing


def test_other_libraries_find_the_attachment() -> None:
    """ISO 32000-2, 7.11.4: by name, with its size, checksum and media type; two libraries that did not write it."""
    with pymupdf.open(stream=made().data) as document:
        assert recipe.ATTACHMENT in document.embfile_names()
        assert document.embfile_get(recipe.ATTACHMENT) == made().recipe.to_bytes()
    with pikepdf.open(io.BytesIO(made().data)) as pdf:
        file = pdf.attachments[recipe.ATTACHMENT].get_file()
        assert file.read_bytes() == made().recipe.to_bytes()
        assert file.mime_type == "application/json"
        assert json.loads(file.read_bytes())["pattern_file"]["text"] == TEXT


@pytest.mark.parametrize("save", [{}, {"linearize": True}, {"object_stream_mode": pikepdf.ObjectStreamMode.generate}])
def test_it_survives_being_saved_by_another_program(save: dict, tmp_path: Path) -> None:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(made().data)) as pdf:
        pdf.save(out, **save)
    assert read(out.getvalue(), tmp_path).to_bytes() == made().recipe.to_bytes()


# ---------------------------------------------------------------- what is no such PDF


def words_of(data: bytes, folder: Path) -> str:
    with pytest.raises(PatternError) as caught:
        read(data, folder)
    (line,) = caught.value.lines()
    assert line.startswith("old.pdf: ")
    return line


def changed(edit: Callable[[dict], object]) -> bytes:
    """The PDF with its record edited and put in again."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(made().data)) as pdf:
        value = json.loads(pdf.attachments[recipe.ATTACHMENT].get_file().read_bytes())
        edit(value)
        del pdf.attachments[recipe.ATTACHMENT]
        spec = pikepdf.AttachedFileSpec(pdf, json.dumps(value).encode(), filename=recipe.ATTACHMENT)
        pdf.attachments[recipe.ATTACHMENT] = spec
        pdf.save(out)
    return out.getvalue()


def foreign() -> bytes:
    out = io.BytesIO()
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        pdf.save(out)
    return out.getvalue()


def test_a_pdf_of_another_program_is_told_apart(tmp_path: Path) -> None:
    assert "carries no pattern file" in words_of(foreign(), tmp_path)


def test_what_is_no_pdf_is_told_apart(tmp_path: Path) -> None:
    assert "not a PDF" in words_of(b"curvewright = 1\n", tmp_path)
    assert "not a PDF" in words_of(b"", tmp_path)


def test_a_newer_record_is_told_apart(tmp_path: Path) -> None:
    assert "newer" in words_of(changed(lambda value: value.update(format=99)), tmp_path)


def test_a_record_of_the_first_format_is_read_but_its_sheets_are_not_reprinted() -> None:
    """It named no form of new sheets, and its sheets looked otherwise."""
    value = json.loads(made().recipe.to_bytes())
    for key in ("form", "halves", "printer"):
        value.pop(key, None)
    value |= {"format": 1, "drawing": 1, "correction": [1.0, 0.0, 0.0, 1.0, 0.0, 0.0]}
    old = recipe.from_bytes(json.dumps(value).encode(), "old.pdf")
    assert old.source.text == TEXT and old.form.paper == paper("letter") and not old.halves
    order = fromfile.order_of(TEXT, {"rise": "1 3/4"})
    assert len(job.make_sheets(order, old.form, like=old).sheets) == len(made().sheets)
    with pytest.raises(PatternError, match="drawn by another version"):
        job.make_reprint(order, old)


def test_missing_files_and_folders_are_told_apart(tmp_path: Path) -> None:
    with pytest.raises(PatternError, match="no such file"):
        recipe.read(tmp_path / "none.pdf")
    with pytest.raises((PatternError, MachineError), match="folder"):
        recipe.read(tmp_path)


def _edits() -> dict[str, Callable[[dict], object]]:
    first = lambda value: value["patterns"][0]  # noqa: E731
    return {
        "no format": lambda v: v.pop("format"),
        "format is words": lambda v: v.update(format="one"),
        "no patterns": lambda v: v.pop("patterns"),
        "patterns is a number": lambda v: v.update(patterns=3),
        "sizes is a list": lambda v: v.update(sizes=["rise"]),
        "correction of five": lambda v: v.update(correction=[1, 0, 0, 1, 0]),
        "flat correction": lambda v: v.update(correction=[0, 0, 0, 0, 0, 0]),
        "correction not a number": lambda v: v.update(correction=[float("nan"), 0, 0, 1, 0, 0]),
        "correction of another size": lambda v: v.update(correction=[2, 0, 0, 2, 0, 0]),
        "correction that shifts": lambda v: v.update(correction=[1, 0, 0, 1, 5, 0]),
        "printer without a name": lambda v: v.update(printer={"scale_error": 0.001}),
        "printer known to no degree": lambda v: v.update(printer={"name": "study", "scale_error": -1}),
        "no pattern file": lambda v: v.update(pattern_file=None),
        "phase of three": lambda v: first(v).update(phase=[1, 2, 3]),
        "phase endless": lambda v: first(v).update(phase=[float("inf"), 0]),
        "words without places": lambda v: first(v).update(words={"title": None}),
        "a sheet of no name": lambda v: first(v).update(sheets={"Z0": "x"}),
        "no form": lambda v: first(v).pop("form"),
        "a form of no paper": lambda v: first(v)["form"].update(paper=["A4", 0, 0]),
        "paper that is endless": lambda v: first(v)["form"].update(paper=["A4", 210, float("inf")]),
        "paper of no number": lambda v: first(v)["form"].update(paper=["A4", float("nan"), 297]),
        "a grid of nothing": lambda v: first(v)["form"].update(grid_mm=0),
        "a grid below nothing": lambda v: first(v)["form"].update(grid_mm=-1),
        "margin in words": lambda v: first(v)["form"].update(margin_mm="wide"),
    }


@pytest.mark.parametrize("name", _edits())
def test_records_that_make_no_sense_are_refused_in_words(name: str, tmp_path: Path) -> None:
    words_of(changed(_edits()[name]), tmp_path)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_a_damaged_file_is_refused_in_words_or_read_whole(tmp_path: Path, data: st.DataObject) -> None:
    """Bytes changed, cut off or cut out anywhere: a PatternError, or the record as it was; never anything else."""
    whole = bytearray(made().data)
    kind = data.draw(st.sampled_from(["truncated", "overwritten", "cut out"]))
    at = data.draw(st.integers(0, len(whole) - 1))
    if kind == "truncated":
        damaged = bytes(whole[:at])
    elif kind == "overwritten":
        patch = data.draw(st.binary(min_size=1, max_size=40))
        damaged = bytes(whole[:at] + patch + whole[at + len(patch) :])
    else:
        damaged = bytes(whole[:at] + whole[at + data.draw(st.integers(1, 4000)) :])
    try:
        back = read(damaged, tmp_path)
    except PatternError as error:
        assert error.lines()
    else:
        assert back.to_bytes() == made().recipe.to_bytes()


values = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=8)),
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(st.text(max_size=6), inner, max_size=4)),
    max_leaves=8,
)


@settings(max_examples=100, deadline=None)
@given(st.data())
def test_any_value_in_any_place_of_the_record_is_refused_in_words_or_read(data: st.DataObject) -> None:
    record = json.loads(made().recipe.to_bytes())
    here = record
    while True:
        key = data.draw(st.sampled_from(sorted(here) if isinstance(here, dict) else range(len(here))))
        inner = here[key]
        if not isinstance(inner, (dict, list)) or not inner or data.draw(st.booleans()):
            here[key] = data.draw(values)
            break
        here = inner
    try:
        recipe.from_bytes(json.dumps(record).encode(), "old.pdf")
    except PatternError as error:
        assert error.lines()


@pytest.mark.parametrize("data", [b"", b"[", b"null", b"[]", b"\xff\xfe", b"[" * 100_000, b'{"format": 1}', b"1e999"])
def test_attachments_that_are_no_record_are_refused_in_words(data: bytes) -> None:
    with pytest.raises(PatternError):
        recipe.from_bytes(data, "old.pdf")
