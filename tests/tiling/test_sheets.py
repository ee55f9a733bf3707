"""A printed job as a whole: the same bytes again, text that can be searched, words in free places, the JSON of it."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from itertools import combinations
from pathlib import Path

import fromfile
import handmade
import numpy as np
import pagereader
import pikepdf
import pymupdf
import pypdf
import pypdfium2
import pytest
import shapely
from msgspec.structs import replace

from patterns.crossings import nearest_to_each
from patterns.pattern import Role
from tiling import job
from tiling.fingerprint import digest_of, word_of
from tiling.form import SheetForm, sheet_form
from tiling.lattice import cell_name
from tiling.order import usual_form
from tiling.paper import paper

HOME = Path(__file__).resolve().parents[2]
DEMO = sorted(path.name for path in fromfile.DEMO.glob("*.toml"))


def demo(name: str, on: str = "") -> job.Printed:
    order = fromfile.demo_order(name)
    usual = usual_form(order.piece.units)
    return job.make_sheets(order, replace(usual, paper=paper(on)) if on else usual)


@pytest.mark.parametrize("name", DEMO)
def test_the_same_input_gives_the_same_bytes(name: str) -> None:
    assert demo(name).data == demo(name).data


def test_and_in_processes_with_different_hash_seeds(tmp_path: Path) -> None:
    command = "import sys; from cli.main import run; sys.exit(run(sys.argv[1:]))"
    made = []
    for seed in ("1", "77"):
        file = tmp_path / f"{seed}.pdf"
        environment = os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": str(HOME)}
        words = [sys.executable, "-c", command, "sheets", str(fromfile.DEMO / DEMO[0]), "-o", str(file)]
        subprocess.run(words, env=environment, check=True, capture_output=True, cwd=tmp_path)
        made.append(file.read_bytes())
    assert made[0] == made[1]


@pytest.mark.parametrize("name", DEMO)
def test_the_cut_lines_of_the_demo_lie_on_its_curves(name: str) -> None:
    """The same as for hand-made shapes, through the pattern file and every drawing that it makes."""
    made = demo(name)
    pages = pagereader.pages(made.data)
    for sheet, entry in zip(made.sheets, made.to_json()["sheets"], strict=True):
        rows = [row for path in filter(pagereader.is_cut, pages[entry["page"] - 1]) for row in path.beziers]
        drawn = 0
        for dealt, part in zip((sheet.dealt, *sheet.others), entry["parts"], strict=True):
            cut = [stroke.curve for stroke in dealt.pattern.strokes if stroke.role is Role.CUT]
            x0, y0, x1, y1 = np.array(part["window_mm"]) + np.array([-1.5, -1.5, 1.5, 1.5])
            for row in rows:
                points = pagereader.mapped(part["to_part"], pagereader.along(row[None], 7)).reshape(-1, 2)
                if ((points > (x0, y0)) & (points < (x1, y1))).all():
                    drawn += 1
                    assert np.min([nearest_to_each(curve, points)[1] for curve in cut], axis=0).max() < 0.005
        assert drawn == len(rows)


# ---------------------------------------------------------------- text


def texts(data: bytes) -> dict[str, list[str]]:
    """The text of every page by three readers."""
    with pymupdf.open(stream=data) as document:
        mupdf = [page.get_text() for page in document]
    plain = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages]
    document = pypdfium2.PdfDocument(data)
    pdfium = [document[k].get_textpage().get_text_range() for k in range(len(document))]
    document.close()
    return {"MuPDF": mupdf, "pypdf": plain, "PDFium": pdfium}


def squeezed(text: str) -> str:
    return "".join(text.split())


@pytest.mark.parametrize("reader", ["MuPDF", "pypdf", "PDFium"])
def test_what_is_printed_can_be_searched(reader: str) -> None:
    shape = handmade.arched_panel(420, 500, 70)
    made = job.make_sheets(handmade.order_of(shape.pattern), SheetForm(paper("A4")))
    pages = texts(made.data)[reader]
    everything = squeezed(" ".join(pages))
    for words in (*shape.pattern.title_block, *(label.text for label in shape.pattern.labels)):
        assert squeezed(words) in everything, words
    assert squeezed(handmade.TITLE) in squeezed(pages[0])
    for sheet in made.sheets:
        on_page = squeezed(pages[sheet.page - 1])
        c, r = sheet.sheet.cell
        assert squeezed(f"{cell_name((c, r))} {sheet.sheet.word}") in on_page
        for beside in ((c - 1, r), (c + 1, r), (c, r - 1), (c, r + 1)):
            trimmed = beside < (c, r)
            words = f"trim to join {cell_name(beside)}" if trimmed else f"{cell_name(beside)} joins here"
            assert squeezed(words) in on_page
        for words in ("actual size", "outside face up", "100 mm", "4 in"):
            assert squeezed(words) in on_page, words


def test_letters_beyond_ascii_are_found_as_they_were_written() -> None:
    text = 'units = "mm"\ncurvewright = 1\ntitle = "Őrház ½ × 3⅜″"\n[[part]]\nname = "côté"\n'
    order = fromfile.order_of(text + 'blank = { length = "150", width = "120" }\nnotes = ["Ångström fűrész"]\n')
    made = job.make_sheets(order, SheetForm(paper("A4")))
    for reader, pages in texts(made.data).items():
        everything = squeezed(" ".join(pages))
        for words in ("Őrház ½ × 3⅜″", "côté"):
            assert squeezed(words) in everything, (reader, words)


def test_the_only_font_is_embedded() -> None:
    with pymupdf.open(stream=demo(DEMO[0]).data) as document:
        fonts = {font for page in document for font in page.get_fonts(full=True)}
        assert len({font[0] for font in fonts}) == 1
        number, extension, kind, name, *_ = next(iter(fonts))
        assert (extension, kind) == ("ttf", "Type0")
        assert "NotoSans" in name and "+" in name
        assert len(document.extract_font(number)[3]) > 1000


# ---------------------------------------------------------------- words in free places


HANGING = 0.24
"""How far g, j, p, q and y of Noto Sans hang below the base line, as a part of the size."""


def word_boxes(made: job.Printed) -> list[tuple[job.PrintedSheet, list[tuple[str, shapely.Geometry]]]]:
    """The lines of text of each sheet inside its window: the words and the box of their letters, in page points."""
    found = []
    with pymupdf.open(stream=made.data) as document:
        for sheet in made.sheets:
            page = document[sheet.page - 1]
            lattice = sheet.dealt.layout.lattice
            form = sheet_form(lattice.form)
            x0, y0 = (v / 256 for v in form.corner)
            width, height = (v / 256 for v in form.window)
            window = shapely.box(x0, y0, x0 + width, y0 + height)
            lines = []
            for block in page.get_text("dict")["blocks"]:
                for line in block["lines"]:
                    box = line_box(line, page.rect.height)
                    if window.contains(box):
                        lines.append(("".join(span["text"] for span in line["spans"]), box))
            found.append((sheet, lines))
    return found


def line_box(line: dict, page_height: float) -> shapely.Geometry:
    """From the base line, or what hangs below it, to the height of the capitals, along the line's own direction."""
    cos, sin = line["dir"]
    span, last = line["spans"][0], line["spans"][-1]
    x, y = span["origin"]
    reach = abs((last["bbox"][2] - x) * cos) if abs(cos) > abs(sin) else abs(last["bbox"][1] - y)
    hangs = HANGING * span["size"] if any(set(one["text"]) & set("gjpqy_,") for one in line["spans"]) else 0.0
    tall = 0.714 * span["size"] + hangs
    corners = [(x - hangs * sin, y + hangs * cos), (x + reach * cos - hangs * sin, y + reach * sin + hangs * cos)]
    corners += [(px + tall * sin, py - tall * cos) for px, py in reversed(corners)]
    return shapely.Polygon([(px, page_height - py) for px, py in corners])


@pytest.mark.parametrize("on", ["letter", "A4"])
@pytest.mark.parametrize("name", DEMO)
def test_words_lie_clear_of_one_another_and_of_the_cut_line(name: str, on: str) -> None:
    """What hangs below a base line included: the line to write the date on is one."""
    made = demo(name, on)
    pages = pagereader.pages(made.data)
    checked = 0
    for sheet, lines in word_boxes(made):
        lines = [(text, box) for text, box in lines if is_of_use(text, sheet)]
        cut = [row for path in filter(pagereader.is_cut, pages[sheet.page - 1]) for row in path.beziers]
        drawn = shapely.MultiLineString([pagereader.along(row[None], 40)[0] for row in cut])
        for text, box in lines:
            if "join" in text:
                continue  # in the overlap, where a line may run along the whole seam
            # a sheet of a glued-up board may carry its glue lines alone
            clear = drawn.is_empty or drawn.distance(box) * pagereader.POINT_MM > 0.15
            assert clear, (cell_name(sheet.sheet.cell), text)
            checked += 1
        for (text, box), (other, other_box) in combinations(lines, 2):
            assert not box.intersects(other_box), (cell_name(sheet.sheet.cell), text, other)
    assert checked > 10


def is_of_use(text: str, sheet: job.PrintedSheet) -> bool:
    """Words but the names of neighbours that this job has no sheets for: where a line runs along the rim, they give way."""
    if "join" not in text:
        return True
    return any(cell_name(one.cell) in text.split() for one in sheet.dealt.sheets)


@pytest.mark.parametrize("name", DEMO)
def test_the_title_block_lies_whole_inside_the_outline_on_one_sheet(name: str) -> None:
    """So that it survives the scissors, and needs no seam to be read."""
    made = demo(name)
    for dealt in made.dealt:
        outline = shapely.Polygon(
            dealt.pattern.outline.boundary.flattened(0.05),
            [hole.flattened(0.05) for hole in dealt.pattern.outline.holes],
        )
        block = [
            label for labels in dealt.placing.by_cell.values() for label in labels if label.key.startswith("title")
        ]
        assert block, dealt.pattern.name
        homes = set()
        for sheet, lines in word_boxes(made):
            if dealt not in (sheet.dealt, *sheet.others):
                continue
            to_part = job.to_part(dealt.layout, sheet.sheet.cell).values()
            boxes = [shapely.Polygon(pagereader.mapped(to_part, np.array(box.exterior.coords))) for _, box in lines]
            inside = {text for (text, _), box in zip(lines, boxes, strict=True) if outline.contains(box)}
            if all(any(label.text in text for text in inside) for label in block):
                homes.add(sheet.name)
        assert len(homes) == 1, dealt.pattern.name


# ---------------------------------------------------------------- the record and the JSON


def test_the_json_names_every_page_once() -> None:
    made = demo(DEMO[0])
    told = made.to_json()
    pages = [sheet["page"] for sheet in told["sheets"]]
    assert pages == sorted(set(pages))
    assert told["pages"] == made.page_count == len(pikepdf.open(io.BytesIO(made.data)).pages)
    assert told["paper"] == made.form.paper.name
    assert pages[-1] == told["pages"]


def test_digests_tell_sheets_apart_and_words_follow_from_them() -> None:
    made = demo(DEMO[0])
    digests = [sheet.sheet.digest for sheet in made.sheets]
    assert len(set(digests)) == len(digests)
    for sheet in made.sheets:
        assert len(sheet.sheet.digest) == 16
        assert set(sheet.sheet.digest) <= set("0123456789abcdef")
        assert sheet.sheet.word == word_of(sheet.sheet.digest)


def test_a_sheet_says_nothing_of_the_rest_of_the_job() -> None:
    """Printed alone and printed with others, a pattern's sheets are the same."""
    panel, rail = handmade.arched_panel(300, 400, 60), handmade.flowing_rail(500, (20.0, 60.0, 35.0), 40.0)
    form = SheetForm(paper("A4"))
    alone = job.make_sheets(handmade.order_of(panel.pattern), form)
    together = job.make_sheets(handmade.order_of(rail.pattern, panel.pattern), form)
    mine = {s.sheet.cell: s.sheet.digest for s in together.sheets if s.dealt.pattern.slug == panel.pattern.slug}
    assert mine == {sheet.sheet.cell: sheet.sheet.digest for sheet in alone.sheets}


def test_words_for_fingerprints_are_spread_evenly_enough() -> None:
    """Two sheets of a job rarely share a word."""
    words = [word_of(digest_of(str(k).encode())) for k in range(400)]
    assert len(set(words)) > 390
    assert all(word.isalpha() and word.islower() and 4 <= len(word) <= 8 for word in words)


def test_page_labels_and_bookmarks_name_sheets_and_parts() -> None:
    made = demo(DEMO[0])
    with pymupdf.open(stream=made.data) as document:
        labels = [document[k].get_label() for k in range(len(document))]
        marks = [(title, page) for _, title, page in document.get_toc()]
    for sheet in made.sheets:
        assert labels[sheet.page - 1].endswith(cell_name(sheet.sheet.cell))
    first_pages = {}
    for sheet in made.sheets:
        first_pages.setdefault(sheet.dealt.pattern.name, sheet.page)
    assert marks == [("Cover", 1), *first_pages.items()]
