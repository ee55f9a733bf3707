"""What lies in a packet: every file by its path, with a word on what it is."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping, Sequence
from functools import partial
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cli import drawings, printing, report
from cli.packets import archive, plaintext, startpage
from cli.packets.guide import Guide, PartOnPage, SheetsOnPage
from cli.packets.picture import picture_svg
from cli.packets.stock import HEAD, blanks_of
from cli.reports import HANDED_OUT
from cli.request import Job
from patterns.memory import FORGETFUL, Memory
from patterns.pattern import Pattern
from patterns.piece import Size
from patterns.slug import slug
from tiling.carried import files_of
from tiling.cautions import CAUTIONS
from tiling.covering import sizes_told
from tiling.fingerprint import word_of
from tiling.job import Printed, make_sheets
from tiling.order import form_for
from tiling.paper import Paper

FORMAT = 1
"""Of packet.json."""
KINDS: tuple[drawings.Kind, ...] = ("svg", "dxf", "laser")
WIDTH = 80
"""Of the reports that are text, in columns."""

Group = Literal["start", "sheets", "drawings", "reports", "pattern"]


class PacketFile(Struct, frozen=True):
    """A file by its path in the packet's folder, and what it is."""

    path: str
    data: bytes
    what: str
    group: Group


class Packet(Struct, frozen=True):
    """A packet: its folder's name, its files in their order, the checksums last, and the word that stands for all of it."""

    folder: str
    files: tuple[PacketFile, ...]
    word: str
    sheet_counts: Mapping[str, int]
    """Sheets to print by paper."""

    def to_zip(self) -> bytes:
        """The zip file."""
        return archive.zip_bytes(self.folder, {one.path: one.data for one in self.files})


def packet_of(job: Job, papers: Sequence[Paper], member: str = "", memory: Memory = FORGETFUL) -> Packet:
    """The packet of a job on these papers, for a member of a class if one is named.

    ``memory`` is what packets that were made before in this process have drawn. Raises PatternError as ``make_sheets`` does.
    """
    piece = slug(job.piece.title)
    printed = {paper.name: _printed(job, paper, member, memory) for paper in papers}
    recipe = next(iter(printed.values())).recipe
    patterns = tuple(one.pattern for one in next(iter(printed.values())).dealt)
    aids = _aids(job, papers, member, memory)
    files = [*_sheets(piece, printed), *aids, *_drawings(patterns, memory), *_reports(job, memory)]
    pattern_file, *shop_file = files_of(recipe).items()
    files.append(
        PacketFile(f"pattern/{pattern_file[0]}", pattern_file[1], "the pattern file: change a size here", "pattern")
    )
    files += [PacketFile(f"pattern/{name}", data, "the shop file", "pattern") for name, data in shop_file]
    files.append(PacketFile("cautions.txt", plaintext.cautions_text(CAUTIONS), "cautions: read them first", "start"))
    record = {
        "format": FORMAT,
        "title": job.piece.title,
        "revision": job.piece.revision,
        "word": recipe.word,
        "pattern_file": f"pattern/{pattern_file[0]}",
        "sizes": dict(job.given),
        "parts": list(job.only),
        "halves": list(job.halves),
        "member": member,
        "mirrored": job.mirrored,
        "papers": list(printed),
    }
    data = (report.json_text(record) + "\n").encode("ascii")
    files.append(PacketFile("packet.json", data, "what this packet was made from, for programs", "pattern"))
    guide = _guide(job, member, recipe.word, printed, patterns, files)
    pages = [
        PacketFile("start.html", startpage.html(guide), "this page, for a browser", "start"),
        PacketFile("start.txt", plaintext.start_text(guide), "this page as plain text", "start"),
    ]
    whole = [*pages, *files]
    sums = archive.sums_of({one.path: one.data for one in whole})
    whole.append(PacketFile(archive.SUMS, sums, "checksums of all files", "pattern"))
    counts = {name: len(one.sheets) for name, one in printed.items()}
    return Packet(_folder(piece, member), tuple(whole), packet_word(sums), counts)


def packet_word(sums: bytes) -> str:
    """Two words for a packet as a whole, to be read out: one of a thousand million. They follow from its checksums."""
    digest = hashlib.sha256(sums).hexdigest()
    return f"{word_of(digest[:16])} {word_of(digest[16:32])}"


def _folder(piece: str, member: str) -> str:
    return f"{piece}-{slug(member)}" if member else piece


def _printed(job: Job, paper: Paper, member: str, memory: Memory) -> Printed:
    form = form_for(job.piece.units, paper)
    order = printing.order_of(job, None, many=True, form=form, member=member)
    key = ("printed", *order.patterns, form, member, job.source, *sorted(job.given.items()))
    return memory.kept(key, partial(make_sheets, order, form))


def _aids(job: Job, papers: Sequence[Paper], member: str, memory: Memory) -> list[PacketFile]:
    """Cards for the angles of a carcass, and clamp blocks, on each paper."""
    if job.piece.carcass is None or not job.aids:
        return []
    aided = replace(job, shop_aids=True, only=(), halves=(), templates=())
    return [
        PacketFile(
            f"shop-aids/{_paper_in_name(paper.name)}.pdf",
            _printed(aided, paper, member, memory).data,
            f"cards for every angle, and clamp blocks, on {paper.name} paper",
            "sheets",
        )
        for paper in papers
    ]


def _sheets(piece: str, printed: Mapping[str, Printed]) -> list[PacketFile]:
    return [
        PacketFile(_sheets_path(piece, name), one.data, f"all sheets on {name} paper, the cover first", "sheets")
        for name, one in printed.items()
    ]


def _sheets_path(piece: str, paper: str) -> str:
    return f"sheets/{piece}-{_paper_in_name(paper)}.pdf"


def _paper_in_name(paper: str) -> str:
    return paper.replace(" ", "-").replace("/", "-")


WHAT: dict[drawings.Kind, str] = {
    "svg": "{0}, full size, as SVG",
    "dxf": "{0} as DXF, for a router or another machine",
    "laser": "{0} as SVG for a laser cutter, cut and engrave apart",
    "png": "{0}, a picture",
}


def _drawings(patterns: Sequence[Pattern], memory: Memory) -> list[PacketFile]:
    found = []
    for pattern in patterns:
        made = memory.kept(("drawings", pattern), partial(drawings.drawings_of, pattern, KINDS))
        for kind, data in made.items():
            path = f"drawings/{drawings.file_name(pattern, kind)}"
            found.append(PacketFile(path, data, WHAT[kind].format(pattern.name), "drawings"))
        picture = memory.kept(("picture", pattern), partial(picture_svg, pattern))
        found.append(PacketFile(_picture_path(pattern), picture, f"{pattern.name}, a small picture", "drawings"))
    return found


def _picture_path(pattern: Pattern) -> str:
    return f"pictures/{pattern.slug}.svg"


def _reports(job: Job, memory: Memory) -> list[PacketFile]:
    """Every report that the tool has, as text and for programs, and the stock list."""
    found = []
    with report.at_width(WIDTH):
        for one in HANDED_OUT:
            text = "\n".join(one.text(job)) + "\n"
            found.append(PacketFile(f"reports/{one.name}.txt", text.encode("utf-8"), one.what, "reports"))
            data = (report.json_text(one.of(job)) + "\n").encode("ascii")
            found.append(PacketFile(f"reports/{one.name}.json", data, f"{one.what}, for programs", "reports"))
        rows = [blank.row(job.display) for blank in blanks_of(job.parts)]
        stock = "\n".join(["Blanks to cut", "", *report.table(HEAD, rows, right="lrlll"), "", *report.paragraph(STOCK)])
    found.append(
        PacketFile("reports/stock.txt", f"{stock}\n".encode(), "the blanks to cut, by wood and thickness", "reports")
    )
    return found


STOCK = (
    "Sizes are those of each part's own blank. Add what planing, saw kerfs and defects take in your shop. A part that is "
    "glued up from boards is listed as one blank, as wide as all its boards together."
)


def _guide(
    job: Job,
    member: str,
    word: str,
    printed: Mapping[str, Printed],
    patterns: Sequence[Pattern],
    files: Sequence[PacketFile],
) -> Guide:
    piece, display = job.piece, job.display
    sheets = [
        SheetsOnPage(paper, _sheets_path(slug(piece.title), paper), len(one.sheets), one.page_count)
        for paper, one in printed.items()
    ]
    parts = []
    for pattern in patterns:
        x0, y0, x1, y1 = pattern.outline.bounds
        size = f"{display.both(x1 - x0)} by {display.both(y1 - y0)}"
        links = {kind: f"drawings/{drawings.file_name(pattern, kind)}" for kind in KINDS}
        picture = _picture_path(pattern)
        parts.append(PartOnPage(pattern.name, size, pattern.title_block[3:-1], picture, links, pattern.notes))
    pattern_file = next(one.path for one in files if one.group == "pattern").removeprefix("pattern/")
    return Guide(
        title=piece.title,
        about=piece.about,
        revision=piece.revision,
        date=piece.date,
        word=word,
        member=member,
        units=piece.units,
        sheets=tuple(sheets),
        parts=tuple(parts),
        has_halves=any(pattern.half is not None for pattern in patterns),
        sizes=sizes_told(piece, display),
        given=dict(job.given),
        stock_head=HEAD,
        stock=tuple(blank.row(display) for blank in blanks_of(job.parts)),
        stock_note=STOCK,
        warnings=tuple(str(problem) for problem in job.warnings),
        files=tuple((one.path, one.what, one.group) for one in files),
        pattern_file=pattern_file,
        mirrored=job.mirrored,
        example=_example(piece.sizes),
    )


def _example(sizes: Sequence[Size]) -> str:
    """The first size that is a figure of its own, with its value as it is typed."""
    figures = (size for size in sizes if not _NAMES.search(size.written.replace("deg", "").replace("over", "")))
    size = next(figures, None)
    return f"{size.name}={size.written}" if size is not None else ""


_NAMES = re.compile(r"[A-Za-z_]{3,}")
"""What a formula holds and a figure does not."""
