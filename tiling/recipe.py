"""The record a printed job carries with it: what it was made from, how it lies on its sheets, what each sheet is.

It is an attachment of the PDF, ``sheets.json``. With it the piece can be changed and printed again from the PDF alone,
and a reprint knows which of the sheets on the bench are still good.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from pathlib import Path

from msgspec import Struct

from patterns.errors import PatternError
from patterns.filetext import NamedText
from patterns.routerguide import LARGEST_MM, Guide, Template
from patterns.wording import is_unprintable
from tiling.attachment import LARGEST_BYTES, attachment, pdf_bytes
from tiling.fingerprint import revision_word
from tiling.form import SheetForm
from tiling.labels import Slots
from tiling.lattice import cell_name, cell_of
from tiling.layout import Layout
from tiling.printer import Printer
from tiling.sheet import DRAWING_VERSION
from tiling.units import Cell, Json

ATTACHMENT = "sheets.json"
FORMAT = 3
"""1 knew no printers, halves or shared sheets, and said nothing of the form of new sheets; 2 knew no members and no
mirror images."""
WIDEST_STRIP_MM = 100.0


class PatternRecord(Struct, frozen=True):
    """One pattern as printed: its layout, where its words stand, and each sheet's digest."""

    slug: str
    name: str
    layout: Layout
    slots: Slots
    sheets: Mapping[Cell, str]

    def to_json(self) -> Json:
        """As it is written."""
        ordered = sorted(self.sheets.items(), key=lambda item: (item[0][1], item[0][0]))
        return {
            "slug": self.slug,
            "name": self.name,
            **self.layout.to_json(),
            "words": {key: [*at, *wish] for key, (at, wish) in self.slots.items()},
            "sheets": {cell_name(cell): digest for cell, digest in ordered},
        }

    @classmethod
    def from_json(cls, value: Json, printer: Printer) -> PatternRecord:
        """What ``to_json`` wrote; KeyError, TypeError or ValueError where it is not that."""
        return cls(
            str(value["slug"]),
            str(value["name"]),
            Layout.from_json(value, printer),
            {str(key): ((int(x), int(y)), (int(wx), int(wy))) for key, (x, y, wx, wy) in value["words"].items()},
            {cell_of(name): str(digest) for name, digest in value["sheets"].items()},
        )


class Recipe(Struct, frozen=True):
    """All that a printed job is made from."""

    source: NamedText
    given: Mapping[str, str]
    shop: str
    """The text of the shop file in force; empty for the built-in one."""
    only: tuple[str, ...]
    patterns: tuple[PatternRecord, ...]
    form: SheetForm
    """Of new sheets. All sheets of a job are drawn for one printer."""
    drawing: int = DRAWING_VERSION
    title: str = ""
    halves: Mapping[str, float] = {}
    """Parts printed as half patterns, and how wide their flip strips are (mm)."""
    member: str = ""
    """Whom of a class the sheets are for."""
    mirrored: bool = False
    """Whether they are of the piece's mirror image."""
    templates: tuple[Template, ...] = ()
    """Parts printed as router templates, each with its guide."""
    shop_aids: bool = False
    """Whether cards for the angles and clamp blocks are among the patterns."""

    def of(self, slug: str) -> PatternRecord | None:
        """The record of one pattern."""
        return next((record for record in self.patterns if record.slug == slug), None)

    @property
    def word(self) -> str:
        """The word of the pattern file and of the sizes given with it: which revision this is."""
        return revision_word(self.source.text, self.given)

    def to_bytes(self) -> bytes:
        """The attachment: the same recipe always gives the same bytes."""
        value = {
            "format": FORMAT,
            "drawing": self.drawing,
            "title": self.title,
            "pattern_file": {"name": self.source.name, "text": self.source.text},
            "sizes": dict(self.given),
            "shop_file": self.shop,
            "parts": list(self.only),
            "halves": dict(self.halves),
            "member": self.member,
            "mirrored": self.mirrored,
            "templates": [_template_json(one) for one in self.templates],
            **({"shop_aids": True} if self.shop_aids else {}),
            "form": self.form.to_json(),
            **self.form.printer.to_json(),
            "patterns": [record.to_json() for record in self.patterns],
        }
        return json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode("utf-8")


def read(path: Path) -> Recipe:
    """The recipe that a PDF made by ``sheets`` or ``reprint`` carries.

    Raises PatternError where there is none, or it is damaged or of a newer format, and MachineError where the file
    can't be read.
    """
    return from_bytes(attachment(pdf_bytes(path), ATTACHMENT, path.name), path.name)


def from_bytes(data: bytes, name: str) -> Recipe:
    """The recipe of an attachment's bytes. Raises PatternError where it is none."""
    damaged = "is damaged: the record that 'curvewright sheets' puts in makes no sense"
    if len(data) > LARGEST_BYTES:
        raise PatternError.of("", damaged, name)
    try:
        value = json.loads(data, parse_constant=_finite, parse_float=_finite)
        newer = int(value["format"]) > FORMAT
    except (KeyError, TypeError, ValueError, RecursionError) as error:
        raise PatternError.of("", damaged, name) from error
    if newer:
        what = f"was made by a newer Curvewright (record format {value['format']}; this one reads {FORMAT})"
        raise PatternError.of("", what, name)
    try:
        printer = Printer.from_json(value)
        return Recipe(
            NamedText(str(value["pattern_file"]["text"]), str(value["pattern_file"]["name"])),
            {str(key): str(text) for key, text in value["sizes"].items()},
            str(value["shop_file"]),
            tuple(str(part) for part in value["parts"]),
            tuple(PatternRecord.from_json(record, printer) for record in value["patterns"]),
            SheetForm.from_json(value["form"] if "form" in value else value["patterns"][0]["form"], printer),
            int(value["drawing"]),
            str(value["title"]),
            {str(part): _strip(width) for part, width in value.get("halves", {}).items()},
            str(value.get("member", "")),
            value.get("mirrored", False) is True,
            tuple(_template(one) for one in value.get("templates", ())),
            value.get("shop_aids", False) is True,
        )
    except (KeyError, IndexError, TypeError, ValueError, AttributeError, OverflowError, PatternError) as error:
        raise PatternError.of("", damaged, name) from error


def _finite(text: str) -> float:
    """A number of the record. Raises ValueError for one that is endless or none."""
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(f"{text} is no number to draw with")
    return value


def _template_json(template: Template) -> Json:
    guide = template.guide
    return {
        "part": template.part,
        "around": template.around,
        "kind": guide.kind,
        "diameter": guide.diameter,
        "bit": guide.bit,
        "written": guide.written,
        "bit_written": guide.bit_written,
    }


def _template(value: Json) -> Template:
    """What ``_template_json`` wrote; KeyError, TypeError or ValueError where it is not that."""
    kind, sizes = value["kind"], (value["diameter"], value["bit"])
    words = (value["written"], value["bit_written"])
    if kind not in ("bushing", "bearing") or not all(isinstance(mm, (int, float)) for mm in sizes):
        raise ValueError("a router template that is none")
    if not all(0.0 < mm <= LARGEST_MM for mm in sizes):
        raise ValueError("a guide that no router takes")
    if not all(isinstance(text, str) and len(text) <= 80 and not any(map(is_unprintable, text)) for text in words):
        raise ValueError("a guide without a name")
    guide = Guide(kind, float(sizes[0]), float(sizes[1]), *words)
    return Template(str(value["part"]), guide, value["around"] is True)


def _strip(value: object) -> float:
    """The width of a flip strip in mm. Raises ValueError where it can't be one."""
    if not isinstance(value, (int, float)) or not 0.0 < value <= WIDEST_STRIP_MM:
        raise ValueError("a flip strip that is none")
    return float(value)
