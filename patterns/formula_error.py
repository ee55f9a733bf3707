"""What is wrong with a value, in a maker's words."""

from __future__ import annotations

SHOWN_CHARACTERS = 72
"""A longer text is cut in messages: about a line of a terminal."""

SAID_CHARACTERS = 240
"""A longer explanation quotes something endless, which is then left out of its middle."""


class FormulaError(ValueError):
    """A value that can't be read.

    ``written`` is the whole text as the maker wrote it, ``says`` what is wrong with it and what would be right, and
    ``what`` the sentence made of both.
    """

    def __init__(self, says: str, written: str = "") -> None:
        self.says = _in_short(visible(says))
        self.written = written
        self.what = f"{quoted(written)} {self.says}"
        super().__init__(self.what)

    def about(self, written: str) -> FormulaError:
        """The same error, of the text as it was written."""
        return FormulaError(self.says, written)


def quoted(text: str) -> str:
    """``text`` as it stands in a message: in quotation marks, shortened, control characters made visible."""
    seen = visible(text.strip())
    if len(seen) > SHOWN_CHARACTERS:
        seen = seen[: SHOWN_CHARACTERS - 4].rstrip() + " ..."
    return seen if '"' in seen else f'"{seen}"'


def visible(text: str) -> str:
    """``text`` with what can't be printed written as an escape, so that a message stays on its line."""
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text)


def _in_short(says: str) -> str:
    half = SAID_CHARACTERS // 2
    return says if len(says) <= SAID_CHARACTERS else f"{says[:half]} ... {says[-half:]}"
