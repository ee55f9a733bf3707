"""The words of the cover: how to check the printer, how to print, trim, tape, check and paste, and the usual cautions.

Plain and short. Nothing here depends on the job but the units and the paper.
"""

from __future__ import annotations

from patterns.measure import Units
from tiling.paper import Paper

CHECK_HEADING = "First: print this page alone and measure it"
CHECK_ROLL_HEADING = "First: measure the bars on the long page"
CHECK_ROLL = (
    "The long page has bars like these at its left and lower edge. Lay a good rule on them, both across the roll and along "
    "it, from the middle of one end line to the middle of the other.",
    "The bars on this cover check only the printer that the cover itself comes from.",
)
"""For pages off a roll, which a copy shop prints."""


def check_first(units: Units) -> tuple[str, ...]:
    """What to do with the check bars before anything else is printed. Scales of the usual mishaps from paper sizes:
    shrunk into quarter-inch margins 0.941; letter fitted to A4 0.973."""
    inch = units == "in"
    shrunk = "about 3 3/4 in or 94 mm" if inch else "about 94 mm or 3 3/4 in"
    other = "about 3 7/8 in or 97 mm" if inch else "about 97 mm or 3 7/8 in"
    amount = (
        "A bar that is 1/32 in out makes a part of 40 in come out wrong by 5/16 in."
        if inch
        else "A bar that is 0.5 mm out makes a part of 1 m come out wrong by 5 mm."
    )
    return (
        "Print this page at actual size (100 %). Lay a good rule on the bars, both across the page and up it. "
        "Measure from the middle of one end line to the middle of the other.",
        "If they are right, print the other pages with the same settings.",
        "If one is off, print nothing else yet. In the print dialogue, look for “actual size”, “100 %” or “no "
        f"scaling”, set it, and print this page again. A bar of 4 in or 100 mm that measures {shrunk} was shrunk to "
        f"fit the page; {other}: fitted to another paper size.",
        amount,
    )


def printing(paper: Paper) -> tuple[str, ...]:
    """How to print the sheets, or have them plotted."""
    if paper.roll:
        return (
            f"Give the file to a copy shop with a plotter for a {paper.name} wide. Ask for actual size (100 %), no "
            "scaling, no rotating to fit, lines in black; keep this cover for yourself.",
            "Measure the check bars at the edge of the page before you pay, both across the roll and along it. A long "
            "page stretches more along the roll than across.",
        )
    return (
        f"Print the other pages on {paper.name} paper, one side only, at actual size (100 %), all on the same printer.",
        "Measure the check bars on the first sheet that comes out, and on the last. Let the ink dry; paper that is "
        "damp or still warm is not its true size.",
        "Sort the sheets by part and by name. Letters are rows: A is the lowest. Numbers are columns, from the left.",
    )


TRIMMING = (
    "Trim a sheet along its left line only if a sheet joins there, and along its bottom line only if one joins there: "
    "the pictures show which do. Leave all other edges as they are; never trim the right or the top.",
    "Use a sharp knife and a metal straight edge, or scissors.",
)

TAPING = (
    "Work on a flat table, printed side up. Start with the lowest row, at its left end.",
    "Lay the next sheet on the right overlap of the one before it, so that its trimmed edge runs through the "
    "middle of the marks there, and the half marks on it and the marks under it make whole ones. The cut line must "
    "run on without a step.",
    "Hold the seam with two small pieces of tape, check, then tape it along its whole length. Go on to the end of "
    "the row.",
    "Make the next row in the same way. Then lay it on the top overlap of the row below, mark to mark, and tape it.",
)

CHECKING = (
    "Lay a straight edge along the thin base lines, both across and up: each must run straight through all its sheets.",
    "Measure the proof distances in the table: from the small circle on one sheet to the small circle on the other, "
    "centre to centre. The circle is where a sheet's two base lines cross.",
    "If one distance is off, take that seam apart and lay it again. If all are off by the same share, the printer's "
    "scale or damp paper is the cause: measure the check bars again.",
)


def pasting(units: Units) -> tuple[str, ...]:
    """How a taped pattern becomes a template."""
    rim = "3/8 in" if units == "in" else "10 mm"
    return (
        f"Cut the paper about {rim} outside the line all round. Glue it to poster board with a thin, even coat, "
        "smooth it from the middle outwards, and let it dry flat under a weight.",
        "Cut along the middle of the wide line, with a sharp knife and several light strokes. Thin lines and "
        "dashed lines are never cut.",
        "Check the template against the sizes under its picture. Lay it on the wood with the grain arrow along the grain "
        "and the face up that the label names, and draw round it with a sharp pencil.",
    )


HALVES = (
    "A half pattern gives both halves of a part. Cut it out together with the narrow flip strip beyond its flip line; the "
    "strip ends at the thin line beside its words.",
    "Draw the centre line on the outside face of the board. Lay the flip line on it, printed side up. Prick the crosses "
    "through into the centre line, draw round as far as the flip line, and take over holes and marks.",
    "Turn the template over on the flip line, like a page: printed side down, its pricks on those in the board. The board "
    "stays as it is, outside face up. The edges of the strip must fall on the lines drawn first; if they don't, lay it "
    "again.",
    "Draw the other half. Then measure the whole: both halves together must be what stands under the picture.",
)

PROVING = (
    "Of twenty patterns taped with care, each mark hit to the width of its line, nineteen come within each of these "
    "figures. Where one is off by more, find the seam that is, and lay it again."
)


def holding_loosely(pattern: str, from_sheet: str, to_sheet: str) -> str:
    """What to do where careful taping alone may leave a distance far off, as between the legs of an arch."""
    return (
        f"{pattern}: little holds {from_sheet} and {to_sheet} to each other. Tape the seams between them lightly at first, "
        "shift the sheets until this distance measures right and the base lines run straight, then tape them fast."
    )


KEEPING = (
    "Each sheet carries a fingerprint word. The list of sheets shows which word belongs to which: a sheet with "
    "another word is from another printing and does not fit this one.",
)

CHANGING = (
    "Print the new sheets as the others were: same printer, same paper, actual size.",
    "In a pattern that is taped, lift the tape of the old sheet, or slit its seams with a knife along the middle of the "
    "marks, and take it out. Trim the new one as the others: along its left and its bottom line, where a sheet joins.",
    "It goes on the sheets to its left and below it, and under those to its right and above it, mark to mark.",
    "On a pattern that is pasted to board, trim all four sides through the middle of the marks and paste the new sheet over "
    "the old one.",
    "Lay a straight edge along the base lines, and measure the proof distances again.",
)
"""For sheets that take the place of others."""

CAUTIONS_AGAIN = (
    "The first cover says how sheets are trimmed, taped and pasted, and its cautions hold for these sheets, too: read them "
    "again before you cut paper or wood. Above all: unplug a machine before you change its blade or bit, keep guards in "
    "place, protect eyes, ears and lungs, and make a first cut on scrap. A piece that is to hold a child must meet the "
    "current safety standard where you live; these patterns do not show that it does.",
)
"""On the cover of a reprint, whose reader has the first one."""

CAUTIONS = (
    "A piece that is to hold a child must meet the current safety standard where you live; these patterns do not "
    "show that it does.",
    "The patterns give shapes and sizes. They do not show that a piece is strong enough, or stable, or safe in use.",
    "Read the manual of every machine before you use it, and follow it. Keep guards and riving knife in place. Use "
    "push sticks, and clamp small work.",
    "Saws and routers: unplug the machine before you change a blade or a bit. Keep your hands out of its line. Let "
    "it come to full speed before the cut, and to a stop before you reach in.",
    "Wear eye protection and ear protection. Wear a mask against fine dust, and collect the dust where it is made. "
    "Near a turning tool wear no gloves, rings or loose sleeves, and tie long hair back.",
    "A sharp knife slips less than a blunt one. Cut away from yourself, keep your other hand behind the blade, and "
    "cap it when you put it down.",
    "Spray adhesive: use it out of doors or with the windows open, away from flames and sparks, and follow what the "
    "can says.",
    "Make a first cut of any kind on scrap. If you are not sure of a cut, ask a qualified teacher before you make it.",
)
