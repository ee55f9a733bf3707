"""The PDF: pages of content streams in their order, one font, attached files, and how it wants to be printed.

Nothing of the clock or the machine goes in, so that the same job gives the same bytes.
"""

from __future__ import annotations

import hashlib
import io
import zlib
from collections.abc import Sequence
from typing import Literal

from msgspec import Struct
from pypdf import PageObject, PdfWriter
from pypdf.generic import (
    ArrayObject,
    BooleanObject,
    ByteStringObject,
    DictionaryObject,
    EncodedStreamObject,
    FloatObject,
    IndirectObject,
    NumberObject,
    StreamObject,
    TextStringObject,
)

from patterns.memory import FORGETFUL, Memory
from tiling.content import FONT_RESOURCE, Content
from tiling.fontfile import add_font
from tiling.pdfvalues import Name, dictionary

PACKING = 4
"""Of zlib's nine levels: the ninth takes three times as long and saves a twentieth."""
_FAR = 10_000_000
"""Units: further than any page reaches."""


class Page(Struct, frozen=True):
    """One page: its content, size in points, the label a viewer shows, and the bookmark that points to it, if any."""

    content: Content
    size: tuple[float, float]
    label: str
    bookmark: str = ""


class Attachment(Struct, frozen=True):
    """A file carried in the PDF. ``relationship`` is what it is to the document (ISO 32000-2, table 43)."""

    name: str
    data: bytes
    description: str
    media_type: str = "application/json"
    relationship: Literal["Source", "Data"] = "Source"


def assemble(
    pages: Sequence[Page],
    attachments: Sequence[Attachment],
    title: str,
    subject: str = "",
    memory: Memory = FORGETFUL,
) -> bytes:
    """The bytes of the PDF."""
    writer = PdfWriter()
    writer.pdf_header = "%PDF-1.7"
    resources = _add_resources(writer, [page.content for page in pages], memory)
    for page in pages:
        _add_page(writer, page, resources, memory)
    for index, page in enumerate(pages):
        if page.bookmark:
            writer.add_outline_item(title=page.bookmark, page_number=index)
    _attach(writer, attachments, memory)
    _set_catalog(writer, pages)
    writer.metadata = None
    writer.add_metadata({"/Title": title, "/Subject": subject, "/Producer": "Curvewright", "/Creator": "Curvewright"})
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _stream(data: bytes, memory: Memory, **entries: object) -> StreamObject:
    stream = EncodedStreamObject()
    stream._data = memory.kept(("packed", data), lambda: zlib.compress(data, PACKING))
    stream[Name("/Filter")] = Name("/FlateDecode")
    for key, value in entries.items():
        stream[Name("/" + key)] = value
    return stream


def _add_resources(writer: PdfWriter, contents: Sequence[Content], memory: Memory) -> IndirectObject:
    """The font and whatever is shown on many pages, shared by all of them."""
    shown = {name: one for content in contents for name, one in content.shown.items()}
    glyphs = {number: text for content in (*contents, *shown.values()) for number, text in content.glyphs.items()}
    font = add_font(writer, glyphs, memory)
    fonts = DictionaryObject({Name(FONT_RESOURCE): font})
    forms = DictionaryObject()
    for name, content in sorted(shown.items()):
        form = _stream(
            content.stream(),
            memory,
            Type=Name("/XObject"),
            Subtype=Name("/Form"),
            BBox=ArrayObject(NumberObject(n) for n in (-_FAR, -_FAR, _FAR, _FAR)),
            Resources=dictionary(Font=fonts),
        )
        forms[Name(name)] = writer._add_object(form)
    return writer._add_object(dictionary(Font=fonts, XObject=forms))


def _add_page(writer: PdfWriter, page: Page, resources: IndirectObject, memory: Memory) -> None:
    width, height = page.size
    made = PageObject(writer)
    made[Name("/Type")] = Name("/Page")
    made[Name("/MediaBox")] = ArrayObject([NumberObject(0), NumberObject(0), _number(width), _number(height)])
    made[Name("/Resources")] = resources
    made[Name("/Contents")] = writer._add_object(_stream(page.content.stream(), memory))
    writer.add_page(made)


def _number(value: float) -> FloatObject:
    return FloatObject(f"{value:.4f}")


def _attach(writer: PdfWriter, attachments: Sequence[Attachment], memory: Memory) -> None:
    """Lists the files by name in the tree of embedded files, and as what the document is associated with."""
    if not attachments:
        return
    ordered = sorted(attachments, key=lambda one: one.name.encode("utf-16-be"))
    specs = [(TextStringObject(one.name), _embedded(writer, one, memory)) for one in ordered]
    tree = dictionary(Names=ArrayObject([item for pair in specs for item in pair]))
    writer.root_object[Name("/Names")] = dictionary(EmbeddedFiles=tree)
    writer.root_object[Name("/AF")] = ArrayObject([spec for _, spec in specs])


def _embedded(writer: PdfWriter, attachment: Attachment, memory: Memory) -> IndirectObject:
    """An embedded file with its size and checksum (ISO 32000-2, 7.11.3 and 7.11.4)."""
    checksum = hashlib.md5(attachment.data, usedforsecurity=False).digest()
    params = dictionary(Size=NumberObject(len(attachment.data)), CheckSum=ByteStringObject(checksum))
    subtype = Name("/" + attachment.media_type)
    file = writer._add_object(
        _stream(attachment.data, memory, Type=Name("/EmbeddedFile"), Subtype=subtype, Params=params)
    )
    return writer._add_object(
        dictionary(
            Type=Name("/Filespec"),
            F=TextStringObject(attachment.name),
            UF=TextStringObject(attachment.name),
            Desc=TextStringObject(attachment.description),
            AFRelationship=Name("/" + attachment.relationship),
            EF=dictionary(F=file, UF=file),
        )
    )


def _set_catalog(writer: PdfWriter, pages: Sequence[Page]) -> None:
    """Language, page labels, and "print at actual size", enforced where a viewer can (ISO 32000-2, 12.2)."""
    root = writer.root_object
    root[Name("/Lang")] = TextStringObject("en")
    root[Name("/ViewerPreferences")] = dictionary(
        PrintScaling=Name("/None"),
        Enforce=ArrayObject([Name("/PrintScaling")]),
        DisplayDocTitle=BooleanObject(True),
    )
    numbers = ArrayObject()
    for index, page in enumerate(pages):
        numbers.append(NumberObject(index))
        numbers.append(dictionary(P=TextStringObject(page.label)))
    root[Name("/PageLabels")] = dictionary(Nums=numbers)
