"""The files that a PDF of sheets carries, so that whoever gets it can change the piece: record, pattern file, shop file.

The record alone is read back; the others are the same texts as files of their own, for any PDF reader to show and save.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from patterns.slug import DEVICES, slug
from tiling.pdf import Attachment
from tiling.recipe import ATTACHMENT, Recipe

SHOP_FILE = "shop.toml"
MEDIA_TYPE = "application/toml"
"""As registered with IANA (2024)."""
_LONGEST_NAME = 100
_UNFIT = re.compile(r'[<>:"/\\|?*\x00-\x1f\x7f]')
"""What some system allows in no file's name."""


def attachments_of(recipe: Recipe) -> tuple[Attachment, ...]:
    """The record, the pattern file and, where there is one, the shop file."""
    record = Attachment(
        ATTACHMENT, recipe.to_bytes(), "How these sheets are laid out, for a reprint", relationship="Data"
    )
    said = {SHOP_FILE: "The shop file that these sheets were made with"}
    files = [
        Attachment(name, data, said.get(name, "The pattern file that these sheets were made from"), MEDIA_TYPE)
        for name, data in files_of(recipe).items()
    ]
    return record, *files


def files_of(recipe: Recipe) -> Mapping[str, bytes]:
    """The pattern file first, then the shop file if there is one, byte for byte, by names that are safe anywhere."""
    files = {pattern_file_name(recipe.source.name): recipe.source.text.encode("utf-8")}
    if recipe.shop:
        files[SHOP_FILE] = recipe.shop.encode("utf-8")
    return files


def pattern_file_name(name: str) -> str:
    """The name that a pattern file is given where it is written out: its own, if any system would take that.

    A record may come from a stranger, so its name leads into no folder.
    """
    stem = name[: -len(".toml")] if name.lower().endswith(".toml") else name
    is_fit = stem and not _UNFIT.search(stem) and stem == stem.strip(" .") and len(stem) <= _LONGEST_NAME
    if not is_fit or stem.split(".")[0].casefold() in DEVICES:
        stem = slug(_UNFIT.split(stem)[-1])
    return f"{stem}.toml" if f"{stem}.toml".casefold() != SHOP_FILE else f"pattern-{SHOP_FILE}"
