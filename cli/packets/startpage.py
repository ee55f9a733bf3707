"""The start page of a packet as HTML: one file that opens from disk in any browser, with no script in it."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from cli.packets.guide import Guide
from cli.packets.steps import steps_of
from tiling.cautions import CAUTIONS

if TYPE_CHECKING:
    from jinja2 import Template

LINK_WORDS = {"svg": "SVG", "dxf": "DXF", "laser": "SVG for a laser"}
GROUPS = (
    ("start", "To begin with"),
    ("sheets", "Sheets to print"),
    ("drawings", "Drawings"),
    ("reports", "Reports"),
    ("pattern", "The pattern file, and for programs"),
)


def html(guide: Guide) -> bytes:
    """The page. Whatever a pattern file says is shown as text, never taken for markup."""
    files = [(title, [(path, what) for path, what, of in guide.files if of == group]) for group, title in GROUPS]
    text = _template().render(
        guide=guide,
        steps=steps_of(guide),
        cautions=CAUTIONS,
        link_words=LINK_WORDS,
        files=[one for one in files if one[1]],
    )
    return (text + "\n").encode("utf-8")


@cache
def _template() -> Template:
    from jinja2 import Environment, StrictUndefined  # late: only a packet needs it

    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    return environment.from_string(Path(__file__).with_name("start.html.jinja").read_text(encoding="utf-8"))
