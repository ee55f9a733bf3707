"""The job's letters as a font in the PDF: a TrueType subset with its Unicode map, so that what is seen can be searched.

Composite font with Identity-H, glyph numbers as in the whole font (ISO 32000-1, 9.7).
"""

from __future__ import annotations

import zlib
from collections.abc import Collection

import uharfbuzz
from pypdf import PdfWriter
from pypdf.generic import (
    ArrayObject,
    DecodedStreamObject,
    DictionaryObject,
    EncodedStreamObject,
    FloatObject,
    IndirectObject,
    NumberObject,
    TextStringObject,
)

from patterns import lettering
from patterns.memory import FORGETFUL, Memory
from tiling.pdfvalues import Name, dictionary

_DROPPED = ("GSUB", "GPOS", "GDEF", "STAT", "name", "OS/2", "post", "HVAR", "MVAR", "avar", "DSIG", "gasp", "cmap")
_SUBSET_TAG = "CWPATT+NotoSans"


def subset(glyphs: Collection[int]) -> bytes:
    """The font with these glyphs alone, their numbers kept; the variable font's default instance."""
    face = lettering.font_face()
    wanted = uharfbuzz.SubsetInput()
    wanted.glyph_set.update(glyphs)
    wanted.flags = (
        uharfbuzz.SubsetFlags.RETAIN_GIDS | uharfbuzz.SubsetFlags.NO_HINTING | uharfbuzz.SubsetFlags.NOTDEF_OUTLINE
    )
    wanted.pin_all_axes_to_default(face)
    wanted.drop_table_tag_set.update(int.from_bytes(tag.encode("ascii"), "big") for tag in _DROPPED)
    return bytes(uharfbuzz.subset(face, wanted).blob.data)


def _packed(program: bytes) -> tuple[int, bytes]:
    """The length of the font program, and the program compressed."""
    return len(program), zlib.compress(program)


def add_font(writer: PdfWriter, glyphs: dict[int, str], memory: Memory = FORGETFUL) -> IndirectObject:
    """Adds the font with these glyphs (number to the characters it stands for); returns the reference to it."""
    wanted = frozenset(glyphs) | {0}
    length, packed = memory.kept(("font", wanted), lambda: _packed(subset(wanted)))
    program = EncodedStreamObject()
    program._data = packed
    program[Name("/Length1")] = NumberObject(length)
    program[Name("/Filter")] = Name("/FlateDecode")
    descriptor = writer._add_object(_descriptor(writer._add_object(program)))
    descendant = dictionary(
        Type=Name("/Font"),
        Subtype=Name("/CIDFontType2"),
        BaseFont=Name("/" + _SUBSET_TAG),
        CIDSystemInfo=dictionary(
            Registry=TextStringObject("Adobe"), Ordering=TextStringObject("Identity"), Supplement=NumberObject(0)
        ),
        FontDescriptor=descriptor,
        CIDToGIDMap=Name("/Identity"),
        DW=NumberObject(600),
        W=_widths(glyphs),
    )
    unicode_map = DecodedStreamObject()
    unicode_map.set_data(_unicode_map(glyphs))
    font = dictionary(
        Type=Name("/Font"),
        Subtype=Name("/Type0"),
        BaseFont=Name("/" + _SUBSET_TAG),
        Encoding=Name("/Identity-H"),
        DescendantFonts=ArrayObject([writer._add_object(descendant)]),
        ToUnicode=writer._add_object(unicode_map.flate_encode()),
    )
    return writer._add_object(font)


def _descriptor(program: IndirectObject) -> DictionaryObject:
    return dictionary(
        Type=Name("/FontDescriptor"),
        FontName=Name("/" + _SUBSET_TAG),
        Flags=NumberObject(4),
        FontBBox=ArrayObject(NumberObject(n) for n in (-621, -389, 2800, 1067)),
        ItalicAngle=NumberObject(0),
        Ascent=NumberObject(1069),
        Descent=NumberObject(-293),
        CapHeight=NumberObject(round(lettering.CAP_HEIGHT * 1000)),
        StemV=NumberObject(80),
        FontFile2=program,
    )


def _widths(glyphs: dict[int, str]) -> ArrayObject:
    widths = ArrayObject()
    for number in sorted(glyphs):
        widths.append(NumberObject(number))
        widths.append(ArrayObject([FloatObject(lettering.own_advance(number))]))
    return widths


def _unicode_map(glyphs: dict[int, str]) -> bytes:
    """The ToUnicode CMap (ISO 32000-1, 9.10.3), 100 entries a block at the most."""
    rows = [f"<{n:04X}> <{text.encode('utf-16-be').hex().upper()}>" for n, text in sorted(glyphs.items()) if text]
    blocks = [rows[k : k + 100] for k in range(0, len(rows), 100)]
    body = "\n".join(f"{len(block)} beginbfchar\n" + "\n".join(block) + "\nendbfchar" for block in blocks)
    return (
        "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n"
        "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def\n"
        "/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n"
        "1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n"
        f"{body}\nendcmap\nCMapName currentdict /CMap defineresource pop\nend\nend"
    ).encode("ascii")
