"""The form of a sheet: where on the page the pattern's window lies, how far it overlaps, what the rim is for.

From the paper's edge inwards: the margin that the printer can't reach; at the left and at the bottom a band for the
sheet's own words and check bars, which the scissors take off; the window, through which a piece of the pattern is seen.
Neighbouring windows share the overlap. The seam runs along its middle: what lies between the seams is the sheet's core.
"""

from __future__ import annotations

import math
from functools import cached_property
from typing import Literal

from msgspec import Struct

from patterns.affine import Affine
from patterns.errors import PatternError
from tiling.paper import Paper, paper_from_json
from tiling.printer import NO_PRINTER, Printer
from tiling.units import POINTS_PER_MM, UNITS_PER_MM, UNITS_PER_POINT, Json, to_units

Orientation = Literal["portrait", "landscape"]

BAND_MM = 8.0
"""Room for a line of words and a check bar."""
DEFAULT_MARGIN_MM = 6.35
"""1/4 in: what desktop printers reach on all sides (common practice); an older inkjet's deeper bottom margin takes some of
the band, nothing of the pattern."""
DEFAULT_OVERLAP_MM = 10.0
LEAST_OVERLAP_MM = 5.0
LEAST_WINDOW_MM = 60.0


class SheetForm(Struct, frozen=True, dict=True):
    """Paper, its orientation, margin and overlap (mm), the printer, and what follows from them in draw units.

    All but the steps is measured on the page as it is drawn. A printer's correction moves it by less than a pencil line.
    """

    paper: Paper
    orientation: Orientation = "portrait"
    margin_mm: float = DEFAULT_MARGIN_MM
    overlap_mm: float = DEFAULT_OVERLAP_MM
    grid_mm: float = 1.0
    """Steps from sheet to sheet are whole multiples of this, so that proof distances come out in whole divisions."""
    printer: Printer = NO_PRINTER
    """What the sheets are drawn for."""

    @property
    def correction(self) -> Affine:
        """The printer's, in the frame of the page as it is read."""
        return self.printer.correction if self.orientation == "portrait" else self.printer.lying_correction

    @property
    def page_mm(self) -> tuple[float, float]:
        """(width, height) of the page as it is read."""
        width, height = self.paper.width_mm, self.paper.height_mm
        return (height, width) if self.orientation == "landscape" else (width, height)

    @property
    def page_points(self) -> tuple[float, float]:
        """(width, height) of the page in points, unrounded."""
        width, height = self.page_mm
        return width * POINTS_PER_MM, height * POINTS_PER_MM

    @cached_property
    def overlap(self) -> int:
        """The strip two neighbours share, in units; even, so that the seam halves it."""
        return 2 * to_units(self.overlap_mm / 2)

    @cached_property
    def corner(self) -> tuple[int, int]:
        """The window's lower-left corner on the page, in units; whole points."""
        inset = math.ceil((self.margin_mm + BAND_MM) * POINTS_PER_MM) * UNITS_PER_POINT
        return inset, inset

    @cached_property
    def step(self) -> tuple[int, int]:
        """(across, up) from one sheet's window to the next one's, in units: the size of a core.

        It is drawn so that it is a whole multiple of the grid once it is printed, which stretches it. The lattice of
        sheets, with its marks, trim lines and base lines, is square as drawn and a hair out of square as printed; since
        all sheets are so alike, they fit, and what lies on them is true.
        """
        width, height = self.page_mm
        printed = self.correction.inverse()
        return (
            self._step(width, math.hypot(printed.a, printed.b)),
            self._step(height, math.hypot(printed.c, printed.d)),
        )

    def _step(self, page_mm: float, stretch: float) -> int:
        """``stretch`` is the length on paper of what is drawn 1 mm long in this direction."""
        room_mm = page_mm - self.margin_mm - self.corner[0] / UNITS_PER_MM - self.overlap / UNITS_PER_MM
        grid_mm = self.grid_mm / stretch
        return to_units(math.floor(room_mm / grid_mm + 1e-9) * grid_mm)

    @cached_property
    def window(self) -> tuple[int, int]:
        """(width, height) of the window in units: a core and half an overlap all round."""
        across, up = self.step
        return across + self.overlap, up + self.overlap

    def to_json(self) -> Json:
        """For the record that a printed job carries, which tells of the printer once for all."""
        return {
            "paper": self.paper.to_json(),
            "orientation": self.orientation,
            "margin_mm": self.margin_mm,
            "overlap_mm": self.overlap_mm,
            "grid_mm": self.grid_mm,
        }

    @classmethod
    def from_json(cls, value: Json, printer: Printer = NO_PRINTER) -> SheetForm:
        """What ``to_json`` wrote. Raises PatternError or ValueError where it makes no sense."""
        paper = paper_from_json(value["paper"])
        if not value["grid_mm"] > 0.0:
            raise ValueError("no sheet of paper has this form")
        orientation: Orientation = "landscape" if value["orientation"] == "landscape" else "portrait"
        return checked(cls(paper, orientation, value["margin_mm"], value["overlap_mm"], value["grid_mm"], printer))


class SlotForm(Struct, frozen=True, dict=True):
    """A place on a sheet for a pattern that lies whole on it: ``name`` is the sheet's, ``at`` the slot's lower left corner
    in the sheet's window, ``size`` its width and height, of which the lowest ``caption`` is for words, in units.

    To whatever lies in it the slot is a sheet of its own, with no neighbours and so no overlap. ``alone`` says that nothing
    else is to lie on the sheet, which then belongs to its pattern as sheets of many do.
    """

    sheet: SheetForm
    name: str
    at: tuple[int, int]
    size: tuple[int, int]
    caption: int
    alone: bool = False

    @property
    def paper(self) -> Paper:
        """The sheet's."""
        return self.sheet.paper

    @property
    def page_mm(self) -> tuple[float, float]:
        """The sheet's."""
        return self.sheet.page_mm

    @property
    def page_points(self) -> tuple[float, float]:
        """The sheet's."""
        return self.sheet.page_points

    @property
    def overlap(self) -> int:
        """None."""
        return 0

    @property
    def corner(self) -> tuple[int, int]:
        """The slot's lower left corner on the page, in units."""
        x, y = self.sheet.corner
        return x + self.at[0], y + self.at[1]

    @property
    def step(self) -> tuple[int, int]:
        """The slot's size: all of it is core."""
        return self.size

    @property
    def window(self) -> tuple[int, int]:
        """The slot's size."""
        return self.size

    def to_json(self) -> Json:
        """For the record that a printed job carries."""
        return {
            "shared": self.name,
            "sheet": self.sheet.to_json(),
            "at": list(self.at),
            "size": list(self.size),
            "caption": self.caption,
            "alone": self.alone,
        }

    @classmethod
    def from_json(cls, value: Json, printer: Printer = NO_PRINTER) -> SlotForm:
        """What ``to_json`` wrote. Raises PatternError or ValueError where it makes no sense."""
        x, y, width, height = (int(v) for v in (*value["at"], *value["size"]))
        sheet = SheetForm.from_json(value["sheet"], printer)
        across, up = sheet.window
        if not (0 <= x < x + width <= across and 0 <= y < y + height <= up):
            raise ValueError("the slot is not on its sheet")
        caption = int(value["caption"])
        if not 0 <= caption < height:
            raise ValueError("the slot holds nothing but its caption")
        return cls(sheet, str(value["shared"]), (x, y), (width, height), caption, bool(value["alone"]))


AnyForm = SheetForm | SlotForm


def form_from_json(value: Json, printer: Printer = NO_PRINTER) -> AnyForm:
    """A sheet's form, or that of a slot on a shared sheet."""
    return SlotForm.from_json(value, printer) if "shared" in value else SheetForm.from_json(value, printer)


def shared_name(form: AnyForm) -> str:
    """The name of the sheet, if several patterns may share it; else nothing."""
    return form.name if isinstance(form, SlotForm) and not form.alone else ""


def sheet_form(form: AnyForm) -> SheetForm:
    """The form of the whole sheet."""
    return form.sheet if isinstance(form, SlotForm) else form


def checked(form: SheetForm) -> SheetForm:
    """The form itself, if a pattern can be printed on it. Raises PatternError with what would do."""
    if form.margin_mm < 0:
        raise PatternError.of("--margin", "a margin can't be negative; 6 mm (1/4 in) suits most printers")
    if form.overlap_mm < LEAST_OVERLAP_MM:
        raise PatternError.of("--overlap", "an overlap under 5 mm holds no tape and no marks; 10 mm (3/8 in) is usual")
    width, height = form.paper.width_mm, form.paper.height_mm
    room = min(width, height) - 2 * form.margin_mm - BAND_MM - form.overlap_mm
    if room < LEAST_WINDOW_MM:
        raise PatternError.of(
            "--margin, --overlap",
            f"on {form.paper.name} paper, {_left(room)} of each sheet would be left for the pattern; "
            f"{LEAST_WINDOW_MM:.0f} mm is the least",
        )
    return form


def _left(room_mm: float) -> str:
    return f"{room_mm:.4g} mm" if room_mm > 0 else "nothing"
