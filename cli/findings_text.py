"""What ``check`` finds, as a person reads it: tables of 80 to 100 columns, in the pattern file's own unit."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from cli import findings, report
from patterns.curvature import least_radius
from patterns.display import ROUNDED, Display
from patterns.part import Part
from patterns.piece import Size
from patterns.stretch import Stretch

if TYPE_CHECKING:
    from cli.request import Job
    from patterns.measured import Fitted

MIRRORED = "/mirror"
"""What the key of a sweep's reflection ends with; the sweep itself has been told already."""


def lines(job: Job) -> list[str]:
    """The whole report."""
    told = list(_report(job))
    if any(ROUNDED in line for line in told):
        told += ["", f"{ROUNDED} stands before a figure that was rounded by more than a quarter of its last division."]
    return told


def _report(job: Job) -> Iterator[str]:
    piece = job.piece
    revision = f", revision {piece.revision}" if piece.revision else ""
    yield f"{piece.title}{revision}"
    yield from report.paragraph(piece.about)
    if piece.sizes:
        yield ""
        yield from _sizes(piece.sizes, job.display)
    yield from _readings(job)
    for part in job.parts:
        yield ""
        yield from _part(part, job.display)
    yield ""
    yield from _warnings(job)


def _sizes(sizes: tuple[Size, ...], display: Display) -> list[str]:
    def shown(size: Size, value: float | None) -> str:
        if value is None:
            return ""
        return {"length": display.length, "angle": display.angle, "number": "{:g}".format}[size.kind](value)

    rows = [
        (
            size.name,
            shown(size, size.value),
            "command line" if size.overridden else "",
            shown(size, size.least),
            shown(size, size.most),
            size.note,
        )
        for size in sizes
    ]
    return report.table(("size", "in force", "given by", "least", "most", "what it is"), rows, right="lrlrrl")


def _readings(job: Job) -> Iterator[str]:
    told = findings.told(job)
    if told:
        yield ""
        yield "How these were read:"
    for placed in told:
        yield from report.paragraph(f"{placed.place}: {placed.reading.written} is {placed.reading.echo}", "  ")


def _warnings(job: Job) -> Iterator[str]:
    shop = f"the {job.shop.where}" if job.shop.where == "default shop" else job.shop.where
    if not job.warnings:
        yield f"No warnings (machines and bits of {shop})."
        return
    yield f"Warnings (machines and bits of {shop}):"
    for problem in job.warnings:
        yield from report.paragraph(str(problem), "  ")


# ---------------------------------------------------------------- one part


def _part(part: Part, display: Display) -> Iterator[str]:
    spec = part.spec
    count = f" (make {spec.quantity})" if spec.quantity > 1 else ""
    stock = ", ".join(
        word for word in (spec.wood, f"{display.length(spec.thickness.value)} thick" if spec.thickness else "") if word
    )
    yield f"{part.name}{count}{': ' + stock if stock else ''}"
    yield from report.paragraph(
        f"overall {_box(part.outline.bounds, display)}, {display.area(part.outline.area)}", "  "
    )
    for board in part.boards:
        glue = ", ".join(display.length(run.length) for run in board.glue)
        yield f"  board {board.number}: {_box(board.outline.bounds, display)}, glued along {glue}"
    rows = [_curve_row(stretch, display) for stretch in findings.curved(part)]
    head = ("curve", "shape", "length", "span", "rise", "tightest radius")
    yield from (f"  {line}" for line in report.table(head, rows, right="llrrr", width=report.page_width() - 2))
    for stretch in findings.curved(part):
        if not stretch.key.endswith(MIRRORED):
            yield from _struck(stretch, display)


def _box(bounds: tuple[float, float, float, float], display: Display) -> str:
    length, width = bounds[2] - bounds[0], bounds[3] - bounds[1]
    return f"{display.length(length)} by {display.length(width)}"


def _curve_row(stretch: Stretch, display: Display) -> tuple[str, ...]:
    tightest = least_radius(stretch.curve)
    where = ""
    if tightest is not None:
        turning = "round" if tightest.turning == "left" else "hollow"
        x, y = (display.length(float(value)) for value in tightest.at)
        where = f"{display.length(tightest.radius)} {turning}"
        if not _is_one_arc(stretch):
            where += f" (at {x}, {y})"
    return (
        stretch.key.replace(MIRRORED, " mirrored"),
        _shape(stretch),
        display.length(stretch.curve.length),
        display.length(stretch.span) if findings.is_sweep(stretch) else "",
        display.length(stretch.rise) if findings.is_sweep(stretch) else "",
        where,
    )


def _is_one_arc(stretch: Stretch) -> bool:
    """Whether it is equally tight all along, so that no place is the tightest."""
    return stretch.kind == "corner" or (stretch.arch is not None and stretch.arch.kind == "segmental")


def _shape(stretch: Stretch) -> str:
    if stretch.arch is not None:
        return f"{stretch.arch.kind}"
    if stretch.fitted is not None:
        return "measured"
    return {"spline": "points"}.get(stretch.kind, stretch.kind)


def _struck(stretch: Stretch, display: Display) -> Iterator[str]:
    """The radii that an arch is struck with, or how a measured curve was faired."""
    if stretch.arch is not None:
        radii = ", ".join(f"{radius.name} {display.length(radius.radius)}" for radius in stretch.arch.radii)
        rule = f" ({stretch.arch.rule})" if stretch.arch.rule else ""
        if radii:
            yield from report.paragraph(f"{stretch.key}: {radii}{rule}", "  ")
    if stretch.fitted is not None:
        yield from _faired(stretch.key, stretch.fitted, display)


def _faired(key: str, fitted: Fitted, display: Display) -> Iterator[str]:
    used = len(fitted.stations) - len(fitted.left_out)
    yield from report.paragraph(
        f"{key}: the smoothest curve within {display.length(fitted.within)} of {used} readings; "
        f"it misses none of them by more than {_small(fitted.largest_deviation, display)}",
        "  ",
    )
    for k in fitted.left_out:
        miss = _small(abs(fitted.deviations[k]), display)
        side = "shallower" if fitted.deviations[k] < 0 else "deeper"
        station, reading = display.length(fitted.stations[k]), display.length(fitted.readings[k])
        yield from report.paragraph(
            f"left out at {station}: reading {reading}; the curve is {miss} {side} there", "    "
        )
    for suspect in fitted.suspects:
        station, value = display.length(suspect.station), display.length(suspect.value)
        yield from report.paragraph(
            f"looks misread at {station}: {value}, where its neighbours ask for {display.length(suspect.expected)}; "
            "measure it again, or leave it out",
            "    ",
        )
    near = [
        (
            match.kind,
            display.length(match.span),
            display.length(match.rise),
            _small(match.largest_deviation, display),
            _small(match.rms, display),
        )
        for match in findings.arches_near(fitted)
    ]
    if near:
        yield "    the usual arches it comes nearest to:"
        table = report.table(("arch", "span", "rise", "off by at most", "rms"), near, right="lrrrr")
        yield from (f"    {line}" for line in table)


def _small(mm: float, display: Display) -> str:
    """A deviation: too small for the shop's rule, so in decimals."""
    return f"{mm / 25.4:.3f} in" if display.units == "in" else f"{mm:.2f} mm"
