"""Sheet counts as figures: ``sheets / head board``, ``sheets / all``, ``sheets / pages``.

What a pattern takes is known from its layout; how many pages the PDF has, with the cover, only once it is made.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from cli.figures import BETWEEN, Figure, normal

if TYPE_CHECKING:
    from cli.request import Job
    from tiling.form import SheetForm
    from tiling.order import Order

NAME = "sheets"
"""Of this report; it stands in front of its figures' addresses."""

ALL = f"{NAME}{BETWEEN}all"
PAGES = f"{NAME}{BETWEEN}pages"


def are_meant(words: str) -> bool:
    """Whether words begin as the address of a sheet count does; only then the patterns are drawn."""
    return normal(words).startswith(f"{NAME}/") or normal(words) == NAME


def figures(job: Job) -> tuple[Figure, ...]:
    """What can be asked for, without the counts."""
    own = [_figure(f"{NAME}{BETWEEN}{pattern.name}", 0, pattern.part) for pattern in job.patterns]
    return (*own, _figure(ALL, 0), _figure(PAGES, 0))


def counted(job: Job, form: SheetForm, addresses: Collection[str] | None = None) -> tuple[Figure, ...]:
    """The counts on sheets of this form; pages only where their address is among those asked for.

    Raises PatternError where the paper leaves no room.
    """
    from cli import printing  # late, all of these: few figures are sheet counts
    from tiling.dealing import plans_of, sheet_count
    from tiling.form import checked

    order = printing.order_of(job, None, many=True, form=checked(form))
    plans = plans_of(order, form)
    own = [_figure(f"{NAME}{BETWEEN}{one.pattern.name}", len(one.cells), one.pattern.part) for one in plans]
    found = [*own, _figure(ALL, sheet_count(plans))]
    if addresses is not None and PAGES in addresses:
        found.append(_figure(PAGES, _pages(order, form)))
    return tuple(found)


def _pages(order: Order, form: SheetForm) -> int:
    from tiling.job import make_sheets  # late: only this figure needs a whole printing

    return make_sheets(order, form).page_count


def _figure(address: str, count: int, part: str = "") -> Figure:
    return Figure(address, address, count, "", part, NAME)
