"""An account of the paper: how many sheets each pattern takes, what the plain grid and the bare area would, and why."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from patterns.display import Display
from tiling.deal import Dealt
from tiling.form import AnyForm, SlotForm, shared_name, sheet_form
from tiling.layout import plain_grid_count, score_of_layout
from tiling.scoring import Score
from tiling.taping import Taping
from tiling.units import Json, to_mm


class Account(Struct, frozen=True, eq=False):
    """One pattern's paper. ``shared`` is the sheet that it shares with others, if it does; then there is no score.

    ``plain_grid`` counts the sheets of the grid over the pattern's box; ``area_sheets`` how many windows the area inside
    its outline would fill, if it could be poured. Sheets inside a wide board that show no line are not printed, so that
    there may be fewer than that.
    """

    pattern: str
    sheets: int
    plain_grid: int
    area_sheets: float
    orientation: str
    turn: int
    shared: str = ""
    score: Score | None = None

    def to_json(self) -> Json:
        """For a program; the score only where one was asked for."""
        found: Json = {
            "pattern": self.pattern,
            "sheets": self.sheets,
            "plain_grid_sheets": self.plain_grid,
            "area_sheets": self.area_sheets,
            "orientation": self.orientation,
            "turn_deg": self.turn,
            "shared_sheet": self.shared or None,
        }
        if self.score is not None:
            found["score"] = {name: getattr(self.score, name) for name in self.score.__struct_fields__}
        return found


def accounts_of(dealt: Sequence[Dealt]) -> tuple[Account, ...]:
    """The account of every pattern, score and all."""
    return tuple(_account(one) for one in dealt)


def area_sheets(dealt: Sequence[Dealt]) -> int:
    """How many windows the areas inside all outlines would fill: no arrangement without gaps takes fewer sheets."""
    return math.ceil(sum(_windows_filled(one) for one in dealt))


def _account(dealt: Dealt) -> Account:
    layout = dealt.layout
    form = layout.lattice.form
    shared = shared_name(form)
    return Account(
        dealt.pattern.name,
        len(dealt.sheets),
        plain_grid_count(layout, dealt.pattern),
        _windows_filled(dealt),
        sheet_form(form).orientation,
        layout.turn,
        shared,
        None if isinstance(form, SlotForm) else _score(dealt),
    )


def _score(dealt: Dealt) -> Score:
    """What spoke against the layout when it was chosen; the expected error that of the sheets as they are."""
    taping = Taping([sheet.cell for sheet in dealt.sheets], dealt.layout.lattice.form, dealt.seams)
    return replace(score_of_layout(dealt.layout, dealt.pattern), taping_error=taping.worst_mm())


def _windows_filled(dealt: Dealt) -> float:
    form: AnyForm = dealt.layout.lattice.form
    width, height = (to_mm(side) for side in sheet_form(form).window)
    return dealt.pattern.outline.area * dealt.layout.correction.determinant / (width * height)


def in_words(account: Account, display: Display) -> str:
    """Why a pattern lies as it does."""
    turned = "turned by 90 degrees" if account.turn else "not turned"
    if account.score is None:
        return f"whole on {f'sheet {account.shared}' if account.shared else 'one sheet'}, {turned}"
    against = "; ".join(_against(account.score, display))
    error = f"{account.score.taping_error:.2f} mm" if account.score.taping_error else "none"
    return (
        f"sheets {account.orientation}, the pattern {turned}; expected error of its longest distance once taped {error}; "
        + (f"against it: {against}" if against else "nothing speaks against it")
    )


def _against(score: Score, display: Display) -> Iterator[str]:
    if score.trimmed:
        yield f"about {display.length(score.trimmed)} of line in strips that are trimmed off"
    if score.along_seams:
        yield f"about {display.length(score.along_seams)} of line along a seam or a base line"
    for count, noun in (
        (score.holes_on_seams, "hole centre"),
        (score.joints_on_seams, "end of a glue line"),
        (score.tight_on_seams, "tight curve"),
    ):
        if count:
            plural = {"end of a glue line": "ends of glue lines"}.get(noun, f"{noun}s")
            yield f"{count} {noun if count == 1 else plural} near a seam"
    if score.sliver:
        yield f"a last row or column that is {display.length(score.sliver)} narrower than is good to tape"
