"""What keeps a router at its distance from a template: a guide bushing or a bearing, and the bit that it goes with."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from typing import Literal

from msgspec import Struct

from patterns.display import Display
from patterns.errors import PatternError
from patterns.shop import Bit, Shop
from patterns.wording import listed, quoted

SAME_MM = 0.01
"""Diameters that differ by less are one: a calliper shows no more."""

WALL_MM = 3.0
"""A bushing that is chosen for a bit is wider by this at least: its own wall and some air (common practice, no source)."""

LARGEST_MM = 200.0
"""No bit, bushing or bearing of a hand-held router is wider."""

Kind = Literal["bushing", "bearing"]
Read = Callable[[str], float]


class Guide(Struct, frozen=True):
    """A bushing or bearing and a bit: outside ``diameter`` and the ``bit``'s diameter (mm), each as the shop writes it."""

    kind: Kind
    diameter: float
    bit: float
    written: str
    bit_written: str

    @property
    def distance(self) -> float:
        """How far the template's line lies from the true line (mm), from the bit's side towards the template's body.

        (guide - bit) / 2: the axis of the bit is half the guide from the template and half the bit from the cut. It
        is positive for a bushing, 0 for a flush-trim bit, and negative for a bearing smaller than its bit: the
        template then reaches beyond the true line, towards the bit.
        """
        return (self.diameter - self.bit) / 2.0

    @property
    def words(self) -> str:
        """Both, as they are named on a pattern."""
        return f"{self.written} {self.kind}, {self.bit_written}"


class Template(Struct, frozen=True):
    """That a part is drawn as a router template: of the part itself, or ``around`` it."""

    part: str
    guide: Guide
    around: bool = False

    @property
    def name(self) -> str:
        """What is added to the pattern's name."""
        return "router window" if self.around else "router template"


def guide_named(text: str, shop: Shop, display: Display, read: Read) -> Guide:
    """The guide that ``text`` names, such as "5/8 bushing, 1/4 bit" or "flush, 1/2 bit"; the empty text names none.

    What it leaves out is the narrowest that serves. ``read`` gives a written length in mm. Raises PatternError with
    what the shop has.
    """
    words = [chunk.strip() for chunk in re.split(r",|\band\b|\bwith\b", text) if chunk.strip()]
    bushing = bit = bearing = None
    flush = False
    for chunk in words:
        plain = chunk.casefold()
        if plain.endswith("bushing"):
            bushing = _bushing(chunk[: -len("bushing")].strip(), shop, display, read)
        elif plain.endswith("bearing"):
            bearing = _length(chunk[: -len("bearing")].strip(), read)
        elif plain in ("flush", "flush-trim"):
            flush = True
        else:
            bit = _bit(re.sub(r"\s*bit$", "", chunk, flags=re.IGNORECASE), shop, display, read)
    if sum((bushing is not None, bearing is not None, flush)) > 1:
        raise _wrong(f"{quoted(text)} names more than one guide: a bushing, a bearing or flush", shop, display)
    if bearing is not None or flush:
        if bit is None:
            raise _wrong(f"{quoted(text)} names no bit: a bearing is a part of its bit", shop, display)
        width = bit.diameter if bearing is None else bearing
        return Guide("bearing", width, bit.diameter, display.both(width), _bit_words(bit, display))
    return _with_bushing(bushing, bit, shop, display)


def _with_bushing(bushing: float | None, bit: Bit | None, shop: Shop, display: Display) -> Guide:
    bits = sorted((one for one in shop.bits if one.angle == 0.0), key=lambda one: one.diameter)
    chosen = bit or (bits[0] if bits else None)
    if chosen is None:
        raise _wrong("the shop has no straight bit", shop, display)
    if bushing is None:
        wide = [one for one in sorted(shop.bushings) if one >= chosen.diameter + WALL_MM]
        if not wide:
            raise _wrong(f"no bushing of the shop takes a bit of {display.both(chosen.diameter)}", shop, display)
        bushing = wide[0]
    if bushing <= chosen.diameter + SAME_MM:
        what = f"a bit of {display.both(chosen.diameter)} does not go through a bushing of {display.both(bushing)}"
        raise _wrong(what, shop, display)
    return Guide("bushing", bushing, chosen.diameter, display.both(bushing), _bit_words(chosen, display))


def _bushing(text: str, shop: Shop, display: Display, read: Read) -> float:
    if not text:
        raise _wrong("a bushing is named by its outside diameter", shop, display)
    wanted = _length(text, read)
    found = [one for one in shop.bushings if abs(one - wanted) <= SAME_MM]
    if not found:
        raise _wrong(f"the shop has no bushing of {display.both(wanted)}", shop, display)
    return found[0]


def _bit(text: str, shop: Shop, display: Display, read: Read) -> Bit:
    named = [one for one in shop.bits if one.name.casefold() == text.casefold()]
    if not named:
        try:
            wanted = _length(text, read)
        except PatternError as error:
            raise _wrong(f"{quoted(text)} is neither a bit of the shop nor a diameter", shop, display) from error
        named = [one for one in shop.bits if abs(one.diameter - wanted) <= SAME_MM and one.angle == 0.0]
        if not named:
            raise _wrong(f"the shop has no straight bit of {display.both(wanted)}", shop, display)
        if len(named) > 1:
            names = listed(quoted(one.name) for one in named)
            raise _wrong(f"{quoted(text)} may be {names}: name the one that is meant", shop, display)
    if named[0].angle != 0.0:
        raise _wrong(f"the bit {quoted(named[0].name)} is not straight, so its cut has no one distance", shop, display)
    return named[0]


def _bit_words(bit: Bit, display: Display) -> str:
    return f"{display.both(bit.diameter)} bit"


def _length(text: str, read: Read) -> float:
    found = read(text)
    if not (math.isfinite(found) and 0.0 < found <= LARGEST_MM):
        raise PatternError.of("--guide", f"{quoted(text)} is no diameter of a router's bit or guide")
    return found


def _wrong(what: str, shop: Shop, display: Display) -> PatternError:
    return PatternError.of("--guide", f"{what}; {stock_of(shop, display)}")


def stock_of(shop: Shop, display: Display) -> str:
    """What the shop has to choose from."""
    bushings: Sequence[str] = [display.both(one) for one in sorted(shop.bushings)] or ["none"]
    bits: Sequence[str] = [quoted(one.name) for one in shop.bits if one.angle == 0.0] or ["none"]
    return f"the shop has bushings {listed(bushings, 'and')}, and straight bits {listed(bits, 'and')}"
