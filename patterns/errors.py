"""What can go wrong, said so that a maker can mend it.

The tree::

    CurvewrightError            nothing else is raised on purpose
    ├── PatternError            the pattern file or the request is wrong (exit status 1)
    │   └── holds Problems: the file, the place, the value as written, what is wrong, what would be right
    └── MachineError            the machine failed us: disk, missing library (exit status 3)
"""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct


class Problem(Struct, frozen=True):
    """One mistake or one warning.

    ``place`` is written as the maker would find it (``part "rocker", edges.bottom, rise``), ``what`` says
    what is wrong and what would be right, values as the maker wrote them included.
    """

    place: str
    what: str

    def __str__(self) -> str:
        return f"{self.place}: {self.what}" if self.place else self.what


class CurvewrightError(Exception):
    """Anything that we raise on purpose; ``exit_status`` is what the command line ends with."""

    exit_status = 1


class PatternError(CurvewrightError):
    """A pattern file or a request that can't be worked from, with every mistake found in it."""

    def __init__(self, problems: Iterable[Problem], source: str = "") -> None:
        self.problems = tuple(problems)
        self.source = source
        super().__init__("\n".join(self.lines()))

    @classmethod
    def of(cls, place: str, what: str, source: str = "") -> PatternError:
        """The error with a single problem."""
        return cls([Problem(place, what)], source)

    def lines(self) -> list[str]:
        """One line a problem, each with the file's name in front."""
        lead = f"{self.source}: " if self.source else ""
        return [f"{lead}{problem}" for problem in self.problems]


class MachineError(CurvewrightError):
    """The machine failed us: a full disk, a folder that can't be written, a missing library."""

    exit_status = 3
