"""A packet: complete, the same when made twice, unpacked by an ordinary unzip, and enough to print from."""

from __future__ import annotations

import hashlib
import io
import json
import os
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import browser
import pytest

from cli.packets import archive
from cli.reports import HANDED_OUT

Command = Callable[..., Any]
ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "demo"


@pytest.fixture
def made(curvewright: Command, stool: Path, tmp_path: Path) -> Path:
    """The stool's packet for a member, unpacked."""
    result = curvewright("packet", stool, "-o", tmp_path / "stool.zip", "--member", "Ines", "--size", "rise=2")
    assert result.status == 0, result.err
    with zipfile.ZipFile(tmp_path / "stool.zip") as packed:
        packed.extractall(tmp_path / "unpacked")
    return tmp_path / "unpacked" / "step-stool-ines"


def paths_in(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def test_it_holds_everything_that_a_member_needs(made: Path) -> None:
    drawings = [f"drawings/{slug}{end}" for slug in ("apron", "tread") for end in (".dxf", ".laser.svg", ".svg")]
    drawings += ["pictures/apron.svg", "pictures/tread.svg"]
    reports = [f"reports/{one.name}.{end}" for one in HANDED_OUT for end in ("json", "txt")]
    sheets = ["sheets/step-stool-A4.pdf", "sheets/step-stool-letter.pdf"]
    others = ["SHA256SUMS", "cautions.txt", "packet.json", "pattern/stool.toml", "reports/stock.txt"]
    assert paths_in(made) == sorted([*drawings, *reports, *sheets, *others, "start.html", "start.txt"])


def test_its_sheets_are_those_of_the_command_and_it_carries_the_file_byte_for_byte(
    curvewright: Command, stool: Path, made: Path, tmp_path: Path
) -> None:
    for paper in ("letter", "A4"):
        own = tmp_path / f"{paper}.pdf"
        curvewright("sheets", stool, "-o", own, "--paper", paper, "--member", "Ines", "--size", "rise=2")
        assert (made / "sheets" / f"step-stool-{paper}.pdf").read_bytes() == own.read_bytes()
    assert (made / "pattern" / "stool.toml").read_bytes() == stool.read_bytes()


def test_who_has_the_packet_alone_changes_a_size_and_prints(curvewright: Command, made: Path, tmp_path: Path) -> None:
    """The very line that the start page gives, and the pattern file by itself."""
    text = (made / "start.txt").read_text(encoding="utf-8")
    line = next(line.strip() for line in text.splitlines() if "curvewright reprint" in line)
    assert line == (
        "curvewright reprint sheets/step-stool-letter.pdf sheets/step-stool-letter.pdf --size rise=2 -o change.pdf"
    )
    sheets, new = made / "sheets" / "step-stool-letter.pdf", tmp_path / "change.pdf"
    assert curvewright("reprint", sheets, sheets, "--size", "rise=2 1/4", "-o", new).status == 0
    assert curvewright("sheets", made / "pattern" / "stool.toml", "-o", tmp_path / "again.pdf").status == 0


def test_made_twice_it_is_the_same_whatever_the_hash_seed(stool: Path, tmp_path: Path) -> None:
    made = []
    for seed in ("0", "11"):
        out = tmp_path / f"{seed}.zip"
        code = "from cli.main import run; import sys; sys.exit(run(sys.argv[1:]))"
        env = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT), "COLUMNS": seed + "90"}
        subprocess.run(
            [sys.executable, "-c", code, "packet", stool, "-o", out], env=env, check=True, capture_output=True
        )
        made.append(out.read_bytes())
    assert made[0] == made[1]


def test_the_checksums_are_those_of_all_files_and_the_usual_program_checks_them(made: Path) -> None:
    lines = (made / archive.SUMS).read_text(encoding="utf-8").splitlines()
    listed = {path: digest for digest, path in (line.split("  ", 1) for line in lines)}
    assert sorted(listed) == [path for path in paths_in(made) if path != archive.SUMS]
    for path, digest in listed.items():
        assert hashlib.sha256((made / path).read_bytes()).hexdigest() == digest
    if shutil.which("sha256sum"):
        assert (
            subprocess.run(["sha256sum", "--strict", "-c", archive.SUMS], cwd=made, capture_output=True).returncode == 0
        )


@pytest.mark.skipif(shutil.which("unzip") is None, reason="there is no unzip")
def test_an_ordinary_unzip_unpacks_it(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    curvewright("packet", stool, "-o", tmp_path / "stool.zip")
    tested = subprocess.run(["unzip", "-tq", tmp_path / "stool.zip"], capture_output=True, text=True)
    assert tested.returncode == 0 and "No errors" in tested.stdout


# ---------------------------------------------------------------- the start page


class Page(HTMLParser):
    """Links, pictures and headings of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.pictures: list[tuple[str, str]] = []
        self.levels: list[int] = []
        self.ids: set[str] = set()
        self.tags: set[str] = set()
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.tags.add(tag)
        self.ids |= {given["id"]} if given.get("id") else set()
        if tag == "a":
            self.links.append(given["href"] or "")
        if tag == "img":
            self.pictures.append((given["src"] or "", given["alt"] or ""))
        if tag in ("h1", "h2", "h3"):
            self.levels.append(int(tag[1]))


def page_of(folder: Path) -> Page:
    return Page((folder / "start.html").read_text(encoding="utf-8"))


def test_every_link_opens_and_every_file_is_linked(made: Path) -> None:
    page = page_of(made)
    inner = {link[1:] for link in page.links if link.startswith("#")}
    outer = {unquote(link) for link in page.links if not link.startswith("#")}
    assert inner <= page.ids
    assert outer == set(paths_in(made)) - {"start.html"}
    assert {unquote(path) for path, _ in page.pictures} == {"pictures/apron.svg", "pictures/tread.svg"}
    assert all("Shape of the part" in alt for _, alt in page.pictures)
    assert not page.tags & {"script", "link", "iframe", "object", "form"}, (
        "nothing runs and nothing comes from elsewhere"
    )
    assert page.levels[0] == 1 and page.levels.count(1) == 1
    assert all(after - before <= 1 for before, after in zip(page.levels, page.levels[1:], strict=False))


HOSTILE = """\
curvewright = 1
title = "Stool <script>alert(1)</script> & \\"co\\""
about = "</style><img src=x onerror=alert(2)>"
revision = "<b>B</b>"
units = "in"
[sizes]
rise = { value = "1", note = "</td><script>alert(3)</script>" }
[[part]]
name = "<i>tread</i> {{ 7 * 7 }}"
thickness = "3/4"
wood = "ash\\" onmouseover=\\"alert(4)"
notes = ["<a href='https://example.org'>here</a>"]
blank = { length = "16", width = "9" }
edges.top = { arch = "segmental", rise = "rise", arch_to = "edge" }
"""


def test_what_a_pattern_file_says_is_text_and_never_markup(curvewright: Command, tmp_path: Path) -> None:
    file = tmp_path / "hostile.toml"
    file.write_text(HOSTILE, encoding="utf-8")
    assert curvewright("packet", file, "-o", tmp_path / "out.zip").status == 0
    with zipfile.ZipFile(tmp_path / "out.zip") as packed:
        name = next(name for name in packed.namelist() if name.endswith("start.html"))
        text = packed.read(name).decode("utf-8")
    page = Page(text)
    assert not page.tags & {"script", "b", "i"} and not any("example.org" in link for link in page.links)
    assert [alt for _, alt in page.pictures if "49" in alt] == []
    assert "onerror=" not in text.replace("onerror=alert(2)&gt;", "")
    assert "alert(1)" in text, "it is shown"


@pytest.mark.parametrize("piece", ["dolls-cradle", "settle-crest"])
@pytest.mark.parametrize(("width", "dark"), [(320, False), (375, True), (1280, False), (1280, True)])
def test_a_checker_of_accessibility_finds_nothing_in_a_real_browser(
    curvewright: Command, tmp_path: Path, piece: str, width: int, dark: bool
) -> None:
    """axe-core in Chromium: at the width of a phone and of a desk, in light and dark."""
    assert curvewright("packet", DEMO / f"{piece}.toml", "-o", tmp_path / "out.zip", "--paper", "A4").status == 0
    with zipfile.ZipFile(tmp_path / "out.zip") as packed:
        packed.extractall(tmp_path)
    (page,) = tmp_path.glob("*/start.html")
    found = browser.checked(page, width, tmp_path, dark)
    assert found["violations"] == []
    assert found["passes"] > 20 and found["dark"] is dark
    assert found["scrolls"] <= found["width"] == width, "nothing runs off the side"
    assert found["images"] and all(drawn > 0 for _, drawn in found["images"])
    assert found["scripts"] == 0


def test_it_prints(curvewright: Command, tmp_path: Path) -> None:
    """The browser's own PDF of the page holds all its words, black on white."""
    import pymupdf

    curvewright("packet", DEMO / "dolls-cradle.toml", "-o", tmp_path / "out.zip", "--paper", "A4")
    with zipfile.ZipFile(tmp_path / "out.zip") as packed:
        packed.extractall(tmp_path)
    (page,) = tmp_path.glob("*/start.html")
    printed = tmp_path / "printed.pdf"
    browser.run(tmp_path, f"--print-to-pdf={printed}", page.as_uri())
    with pymupdf.open(printed) as document:
        text = " ".join(" ".join(one.get_text() for one in document).split())
    for words in ("Dormouse doll's cradle", "Cautions: read these first", "foot board", "Blanks to cut", "All files"):
        assert words in text


# ---------------------------------------------------------------- what is there already


def test_an_older_packet_of_the_piece_is_replaced_and_nothing_else_is(
    curvewright: Command, stool: Path, tmp_path: Path
) -> None:
    out = tmp_path / "stool.zip"
    assert curvewright("packet", stool, "-o", out).status == 0
    assert curvewright("packet", stool, "-o", out, "--size", "rise=2").status == 0
    stool.write_text(stool.read_text(encoding="utf-8").replace("Step stool", "Garden bench"), encoding="utf-8")
    before = out.read_bytes()
    refused = curvewright("packet", stool, "-o", out)
    assert refused.status == 1 and 'is a packet of "Step stool", not of "Garden bench"' in refused.err
    assert out.read_bytes() == before
    other = tmp_path / "photos.zip"
    with zipfile.ZipFile(other, "w") as photos:
        photos.writestr("one.jpg", b"x")
    before = other.read_bytes()
    assert curvewright("packet", stool, "-o", other).status == 1 and other.read_bytes() == before
    assert curvewright("packet", stool, "-o", other, "--replace").status == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--paper", "A4", "--paper", "A4"), "named twice"),
        (("--paper", "foolscap of old"), "foolscap of old"),
        (("--size", "rise=9"), "rise"),
        (("--part", "leg"), "leg"),
    ],
)
def test_what_can_t_be_is_refused_and_nothing_is_written(
    curvewright: Command, stool: Path, tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    result = curvewright("packet", stool, "-o", tmp_path / "out.zip", *words)
    assert result.status == 1 and said in result.err and not (tmp_path / "out.zip").exists()


def test_it_says_what_is_in_it(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    told = curvewright("packet", stool, "-o", tmp_path / "out.zip", "--json").json
    with zipfile.ZipFile(io.BytesIO((tmp_path / "out.zip").read_bytes())) as packed:
        assert [one["path"] for one in told["files"]] == packed.namelist()
        sums = packed.read("step-stool/SHA256SUMS")
        record = json.loads(packed.read("step-stool/packet.json"))
    assert told["word"] in curvewright("packet", stool, "-o", tmp_path / "out.zip").out
    assert record["title"] == "Step stool" and record["papers"] == ["letter", "A4"]
    assert len(sums.splitlines()) == len(told["files"]) - 1
