"""What every command begins with: the pattern file (or a PDF that carries it), the sizes, the shop, the built parts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from patterns import part as parts_of
from patterns import patternfile, shopfile
from patterns.display import Display
from patterns.errors import PatternError, Problem
from patterns.memory import FORGETFUL, Memory
from patterns.part import Part
from patterns.pattern import Pattern
from patterns.patternfile import PatternSource
from patterns.piece import Piece
from patterns.shopcheck import warnings as warnings_of
from patterns.shopfile import ShopInForce
from patterns.values import PlacedReading
from patterns.wording import quoted, rather

if TYPE_CHECKING:
    from patterns.routerguide import Template
    from tiling.recipe import Recipe


class Job(Struct, frozen=True, dict=True):
    """One piece in one shop, with its parts (all, or those asked for). ``given`` are the sizes not from the file."""

    source: PatternSource
    given: Mapping[str, str]
    only: tuple[str, ...]
    piece: Piece
    readings: tuple[PlacedReading, ...]
    shop: ShopInForce
    display: Display
    parts: tuple[Part, ...]
    warnings: tuple[Problem, ...]
    """What the shop can't do and what looks wrong in the parts; none of it stops anything."""

    carried: Recipe | None = None
    """The record of the PDF that stood for the pattern file."""

    halves: tuple[str, ...] = ()
    """The parts of which half is drawn."""

    mirrored: bool = False
    """Whether the whole piece is drawn as its mirror image."""
    templates: tuple[Template, ...] = ()
    """The parts of which router templates are drawn: alone, unless a part is asked for as a pattern, too."""

    shop_aids: bool = False
    """Whether cards for its angles and clamp blocks are drawn: alone, unless a part is asked for as a pattern, too."""

    memory: Memory = FORGETFUL
    """What earlier jobs have drawn."""

    @property
    def patterns(self) -> tuple[Pattern, ...]:
        """The drawings of the parts, one a part or one a board. Raises PatternError for a half that can't be."""
        return self.drawn({})

    def drawn(self, strips: Mapping[str, float]) -> tuple[Pattern, ...]:
        """The same, with flip strips of these widths (mm) on the halves of some parts."""
        return self._drawn(strips) + self._templates() + (self.aids if self.shop_aids else ())

    def _drawn(self, strips: Mapping[str, float]) -> tuple[Pattern, ...]:
        if not self.halves:
            return self.wholes
        from patterns.half import halves_of  # late: few ask for halves

        key = ("halves", *self.wholes, self.halves, self.display, *strips.items())
        return self.memory.kept(key, lambda: halves_of(self.wholes, self.halves, self.display, strips))

    @cached_property
    def wholes(self) -> tuple[Pattern, ...]:
        """The drawings of the parts, none of them halved."""
        alone = (self.templates or self.shop_aids) and not self.only
        parts = [part for part in self.parts if part.name in self.halves] if alone else self.parts
        return tuple(pattern for part in parts for pattern in self._of(part))

    @cached_property
    def aids(self) -> tuple[Pattern, ...]:
        """Cards for the angles of the settings, and clamp blocks."""
        from patterns.carcass.aids import aids_of  # late: few ask for them

        key = ("aids", *self.parts, self.piece.title, self.shop.shop, self.display)
        return self.memory.kept(key, lambda: aids_of(self.parts, self.piece.title, self.shop.shop, self.display))

    def _templates(self) -> tuple[Pattern, ...]:
        """The router templates. Raises PatternError for one that can't be made."""
        if not self.templates:
            return ()
        from patterns.routertemplate import template_of  # late: few ask for templates

        found = []
        for one in self.templates:
            for pattern in self._of(self._part(one.part)):
                key = ("template", pattern, one, self.display)
                work = partial(template_of, pattern, one.guide, self.display, one.around)
                found.append(self.memory.kept(key, work))
        return tuple(found)

    def template_warnings(self) -> tuple[Problem, ...]:
        """Where the bits of the templates can't follow. Raises PatternError for a template that can't be made."""
        from patterns.routertemplate import told  # late: few ask for templates

        return tuple(
            problem
            for one in self.templates
            for pattern in self._of(self._part(one.part))
            for problem in self.memory.kept(
                ("template told", pattern, one, self.display), partial(told, pattern, one, self.display)
            )
        )

    def _part(self, name: str) -> Part:
        """A part of the piece, also where it is not among those asked for."""
        known = next((part for part in self.parts if part.name == name), None)
        if known is not None:
            return known
        spec = next(spec for spec in self.piece.parts if spec.name == name)
        return self.memory.kept(("part", spec, self.display), partial(parts_of.build, spec, self.display))

    def _of(self, part: Part) -> tuple[Pattern, ...]:
        """The drawings of a part. Of the piece they follow from its title and the names of its parts alone."""
        from patterns.handed import drawn  # late: a report draws nothing

        names = tuple(spec.name for spec in self.piece.parts)
        key = ("patterns", part, self.piece.title, names, self.shop.shop, self.display, self.mirrored)
        return self.memory.kept(key, lambda: drawn(part, self.piece, self.shop.shop, self.display, self.mirrored))

    def said(self, problem: Problem) -> str:
        """A problem with the file's name in front."""
        return f"{self.source.name}: {problem}"


def read(path: Path, given: Mapping[str, str], shop_path: Path | None, only: Sequence[str] = ()) -> Job:
    """Reads the file and builds its parts. Raises PatternError with every mistake of the file and of its parts.

    A PDF made by ``sheets`` stands for the pattern file, the sizes, the parts and the shop that it was made with;
    what is given here goes before them.
    """
    if not is_pdf(path):
        _check_no_packet(path)
        return make(patternfile.read(path), given, shopfile.find(shop_path), only)
    carried = read_pdf(path)
    own = shop_path is not None or not carried.shop
    shop = shopfile.find(shop_path) if own else shopfile.load(carried.shop, f"the shop file in {path.name}")
    job = make(carried.source, {**carried.given, **given}, shop, only or carried.only)
    return replace(job, carried=carried, mirrored=carried.mirrored)


def _check_no_packet(path: Path) -> None:
    """Raises PatternError for a packet: what is in it stands for the pattern file, not the packet itself."""
    if _begins(path, b"PK\x03\x04", 4):
        what = f"is a packet, or another zip file; 'curvewright unpack {path} -o DIR' writes out its pattern file"
        raise PatternError.of("", what, path.name)


def is_pdf(path: Path) -> bool:
    """Whether it begins as a PDF does."""
    return _begins(path, b"%PDF-", 1024)


def _begins(path: Path, mark: bytes, within: int) -> bool:
    """Whether ``mark`` is in the first bytes; False where they can't be read (whoever reads it next says why).

    Asked here and not of ``tiling``, so that reading a pattern file imports nothing that prints. A pipe can be read
    only once, and so is never looked into: what comes through it is a pattern file.
    """
    try:
        if not path.is_file():
            return False
        with path.open("rb") as stream:
            return mark in stream.read(within)
    except (OSError, ValueError):
        return False


def read_pdf(path: Path) -> Recipe:
    """The record that a PDF made by ``sheets`` carries. Raises PatternError where there is none."""
    import logging  # late, as the PDF library brings it anyway

    from tiling import recipe

    logging.getLogger("pypdf").setLevel(logging.CRITICAL)  # what is wrong is said by our own error
    return recipe.read(path)


def make(
    source: PatternSource,
    given: Mapping[str, str],
    shop: ShopInForce,
    only: Sequence[str] = (),
    judged: bool = True,
    memory: Memory = FORGETFUL,
) -> Job:
    """The job of a pattern file's text. Raises PatternError as ``read`` does.

    One that is not ``judged`` has no warnings: what only asks for figures, many times over, needs none.
    ``memory`` is what earlier jobs of the same process have built.
    """
    examined = patternfile.examine(source, given, memory)
    if examined.piece is None:
        raise PatternError(examined.problems, source.name)
    piece = examined.piece
    display = shop.shop.display(piece.units)
    parts, mistakes = _built(piece, display, only, memory)
    if examined.problems or mistakes:
        raise PatternError([*examined.problems, *mistakes], source.name)
    _check_names(only, piece, source.name)
    warnings = (*_of_carcass(piece, shop, display), *_warnings(parts, shop, display, memory)) if judged else ()
    return Job(source, given, tuple(only), piece, examined.readings, shop, display, parts, warnings, memory=memory)


def _built(
    piece: Piece, display: Display, only: Sequence[str], memory: Memory
) -> tuple[tuple[Part, ...], list[Problem]]:
    built: list[Part] = []
    mistakes: list[Problem] = []
    for spec in piece.parts:
        if only and spec.name not in only:
            continue
        try:
            built.append(memory.kept(("part", spec, display), partial(parts_of.build, spec, display)))
        except PatternError as error:
            mistakes += error.problems
    return tuple(built), mistakes


def _check_names(only: Sequence[str], piece: Piece, source: str) -> None:
    names = [spec.name for spec in piece.parts]
    unknown = [name for name in only if name not in names]
    if unknown:
        problems = [Problem("--part", f"there is no part {quoted(name)}; {rather(name, names)}") for name in unknown]
        raise PatternError(problems, source)


def _of_carcass(piece: Piece, shop: ShopInForce, display: Display) -> tuple[Problem, ...]:
    """What looks wrong in the carcass as a whole."""
    if piece.carcass is None:
        return ()
    from patterns.carcass.wholecheck import warnings  # late: few pieces have one

    return tuple(warnings(piece.carcass, shop.shop, display))


def _warnings(parts: Iterable[Part], shop: ShopInForce, display: Display, memory: Memory) -> tuple[Problem, ...]:
    found: list[Problem] = []
    for part in parts:
        work = partial(warnings_of, part, shop.shop, display)
        found += [*part.warnings, *memory.kept(("warnings", part, shop.shop, display), work)]
    return tuple(found)
