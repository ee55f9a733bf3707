"""From a job to an order for sheets, and what is said when they are done."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

from cli import halving, report
from cli.request import Job
from patterns.display import Display
from patterns.shopfile import DEFAULT_SHOP
from tiling.form import SheetForm
from tiling.job import Printed, PrintedSheet
from tiling.order import Order
from tiling.printer import made_for
from tiling.recipe import Recipe


def order_of(
    job: Job, former: Recipe | None, many: bool, form: SheetForm | None = None, member: str | None = None
) -> Order:
    """What is to be printed.

    The flip strips of halves are those of ``former``, if these sheets follow others and it has them; the others are as
    wide as sheets of this form allow. So is ``member``, whom the sheets are for, where nobody is named.
    """
    strips = halving.strips(job, former, form)
    return Order(
        source=job.source,
        given=job.given,
        shop_text="" if job.shop.where == DEFAULT_SHOP else job.shop.text,
        piece=job.piece,
        display=job.display,
        patterns=job.drawn(strips),
        warnings=tuple(str(problem) for problem in job.warnings),
        only=job.only,
        many=many,
        halves=strips,
        mirrored=job.mirrored,
        templates=job.templates,
        shop_aids=job.shop_aids,
        member=(former.member if former is not None else "") if member is None else member,
    )


def sheets_told(path: Path, printed: Printed) -> list[str]:
    """What was written: how many sheets each part takes."""
    count = len(printed.sheets)
    lines = [f"{path}: {sheets(count)} {_of(printed)} and {covers(printed)}"]
    taken = Counter(_held(one) for one in printed.sheets)
    lines += report.table(("pattern", "sheets"), [(name, str(n)) for name, n in taken.items()], right="lr")
    lines += corrected(printed)
    lines.append("Print the cover first, at actual size (100 %), and measure its bars.")
    return lines


def corrected(printed: Printed) -> list[str]:
    """Which printer the sheets are for, if one was measured."""
    said = made_for(printed.form.printer)
    return report.paragraph(f"The pages are {said}. Print them on that printer only.") if said else []


def account_told(printed: Printed, display: Display) -> list[str]:
    """How well the paper is used, and why each pattern lies as it does."""
    from tiling.account import accounts_of, area_sheets, in_words  # late: few ask

    accounts = accounts_of(printed.dealt)
    rows = [
        (one.pattern, one.shared or str(one.sheets), str(one.plain_grid), f"{one.area_sheets:.1f}") for one in accounts
    ]
    total = ("in all", str(len(printed.sheets)), "", str(area_sheets(printed.dealt)))
    lines = report.table(("pattern", "sheets", "plain grid", "area"), [*rows, total], right="lrrr")
    lines += report.paragraph(
        "Plain grid: sheets of a grid over the pattern's box. Area: how many sheets the area inside the outline would "
        "fill; sheets that would show no line are not printed."
    )
    lines.append("")
    return lines + [line for one in accounts for line in report.paragraph(f"{one.pattern}: {in_words(one, display)}")]


def account_json(printed: Printed) -> dict[str, Any]:
    """The same for a program."""
    from tiling.account import accounts_of, area_sheets  # late: few ask

    return {
        "patterns": [one.to_json() for one in accounts_of(printed.dealt)],
        "area_sheet_count": area_sheets(printed.dealt),
    }


def _held(sheet: PrintedSheet) -> str:
    """What is on a sheet: one pattern, or several that share it."""
    names = ", ".join(one.pattern.name for one in (sheet.dealt, *sheet.others))
    return f"{names} ({sheet.name})" if sheet.others else names


def sheets(count: int) -> str:
    """So many sheets, in words."""
    return "1 sheet" if count == 1 else f"{count} sheets"


def _of(printed: Printed) -> str:
    paper = printed.form.paper
    return f"off a {paper.name} wide" if paper.roll else f"of {paper.name} paper"


def covers(printed: Printed) -> str:
    """The pages of the cover, in words."""
    pages = printed.page_count - len(printed.sheets)
    return "the cover" if pages == 1 else f"{pages} pages of cover"
