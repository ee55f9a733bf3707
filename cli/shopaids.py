"""Shop aids among the patterns: bevel cards for every angle, and clamp blocks for panels that are glued up."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from msgspec.structs import replace

from cli.request import Job
from patterns.errors import PatternError

if TYPE_CHECKING:
    from tiling.recipe import Recipe


def add_option(parser: argparse.ArgumentParser) -> None:
    """--shop-aids."""
    parser.add_argument(
        "--shop-aids",
        action="store_true",
        help="a full-size card for every angle in the settings, to set a blade or a bevel gauge by, and blocks for "
        "clamping panels with bevelled edges; patterns of parts are then drawn only of those that --part names",
    )


def aided(job: Job, asked: bool, former: Recipe | None = None) -> Job:
    """The job with its aids, where they are asked for or were printed before. Raises PatternError where there are none."""
    if not (asked or (former is not None and former.shop_aids)):
        return job
    result = replace(job, shop_aids=True)
    if asked and not result.aids:
        raise PatternError.of(
            "--shop-aids", "every cut of the piece is square; there is no angle to set", job.source.name
        )
    return result
