"""The whole piece as its mirror image: asked for, or as on sheets printed before."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from msgspec.structs import replace

from cli.request import Job

if TYPE_CHECKING:
    from tiling.recipe import Recipe


def add_option(parser: argparse.ArgumentParser) -> None:
    """--mirrored."""
    parser.add_argument(
        "--mirrored",
        action="store_true",
        help="the whole piece as its mirror image: every part that is not its own mirror image is drawn the other way round",
    )


def mirrored(job: Job, asked: bool, former: Recipe | None = None) -> Job:
    """The job as a mirror image where that is asked for, or where the sheets printed before are one."""
    wanted = asked or job.mirrored or (former is not None and former.mirrored)
    return replace(job, mirrored=True) if wanted and not job.mirrored else job
