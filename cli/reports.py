"""The reports that the tool has: what each command that reports gives a program under ``--json``."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from cli import card_json, findings, settings_json

if TYPE_CHECKING:
    from cli.request import Job

Json = dict[str, Any]


class Report(Struct, frozen=True):
    """A report by its command's name. ``of`` makes all of it from a job, in millimetres and degrees, nothing rounded.

    ``quick`` makes it without what takes long and is seldom asked for. Figures of a part need that part alone where
    ``by_part`` says so. ``lead`` stands in front of its figures' addresses.
    """

    name: str
    of: Callable[[Job], Json]
    what: str
    """What it is, for a list of files."""
    text: Callable[[Job], list[str]]
    """The same for a person."""
    quick: Callable[[Job], Json] | None = None
    by_part: bool = False
    lead: str = ""


def _check_text(job: Job) -> list[str]:
    from cli import findings_text  # late: figures alone need no words

    return findings_text.lines(job)


def _settings_text(job: Job) -> list[str]:
    from cli import settings_text  # late, as above

    return settings_text.lines(job)


REPORTS = (
    Report(
        "check",
        findings.of_job,
        "sizes, curves, radii and warnings",
        _check_text,
        partial(findings.of_job, arches=False),
        by_part=True,
    ),
    Report(
        "settings",
        settings_json.of_job,
        "blade tilts, gauge angles and lengths for every edge",
        _settings_text,
        by_part=True,
        lead="settings",
    ),
)
"""All of them; a new report is added here, and what can be wanted follows."""


def _card_text(job: Job) -> list[str]:
    from cli import card_text  # late, as above

    return card_text.lines(job)


HANDED_OUT = (
    *REPORTS,
    Report("cutting-card", card_json.of_job, "every cut by machine set-up, and how the board lies", _card_text),
)
"""What a packet holds: the card says the settings again, by machine, and so is neither compared nor wanted."""
