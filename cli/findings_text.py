"""What ``check`` finds, as a person reads it: tables of 80 to 100 columns, in the pattern file's own unit."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from cli import details, findings, handedness, report
from patterns.curvature import least_radius
from patterns.display import ROUNDED, Display
from patterns.part import Part
from patterns.piece import Size
from patterns.stretch import Stretch
from patterns.wording import MIRRORED, key_in_words

if TYPE_CHECKING:
    from cli.request import Job
    from patterns.carcass.measured import Residual
    from patterns.measured import Fitted


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
    yield from _measured(job)
    for part in job.parts:
        yield ""
        yield from _part(part, job)
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


def _measured(job: Job) -> Iterator[str]:
    """How the measurements of a carcass fit the box that was solved from them."""
    carcass = job.piece.carcass
    if carcass is None or not carcass.residuals:
        return
    yield ""
    yield "The box that fits the measurements best:"
    rows = [
        (
            one.of,
            one.written,
            _solved(one.of, one.solved, job.display),
            _off(one.residual, job.display),
            _said(one),
        )
        for one in carcass.residuals
    ]
    yield from report.table(("measure", "measured", "solved", "off by", ""), rows, right="lrrrl")


def _off(mm: float, display: Display) -> str:
    if display.units == "in":
        return f"{round(mm / 25.4, 2) + 0.0:+.2f} in"
    return f"{round(mm, 1) + 0.0:+.1f} mm"


def _said(one: Residual) -> str:
    return "left out: likely misread" if one.left_out else "one of these is misread" if one.perhaps else ""


def _solved(of: str, mm: float, display: Display) -> str:
    return f"{display.length(mm)} over the height" if of.startswith("slope") else display.length(mm)


def _warnings(job: Job) -> Iterator[str]:
    shop = f"the {job.shop.where}" if job.shop.where == "default shop" else job.shop.where
    if not job.warnings:
        yield f"No warnings (machines and bits of {shop})."
        return
    yield f"Warnings (machines and bits of {shop}):"
    for problem in job.warnings:
        yield from report.paragraph(str(problem), "  ")


# ---------------------------------------------------------------- one part


def _part(part: Part, job: Job) -> Iterator[str]:
    spec, display = part.spec, job.display
    count = f" (make {spec.quantity})" if spec.quantity > 1 else ""
    thick = f"{display.length(spec.thickness.value)} thick" if spec.thickness else ""
    stock = ", ".join(filter(None, (spec.wood, thick, details.grain(part, display))))
    yield from report.paragraph(f"{part.name}{count}: {stock}")
    yield from report.paragraph(
        f"overall {_box(part.outline.bounds, display)}, {display.area(part.outline.area)}", "  "
    )
    found = handedness.hands(part, job)
    if found is not None:
        yield from report.paragraph(f"hands: {found.told}", "  ")
    for board in part.boards:
        glue = ", ".join(display.length(run.length) for run in board.glue)
        yield f"  board {board.number}: {_box(board.outline.bounds, display)}, glued along {glue}"
    rows = [_curve_row(stretch, display) for stretch in findings.curved(part)]
    head = ("curve", "shape", "length", "span", "rise", "tightest radius")
    yield from (f"  {line}" for line in report.table(head, rows, right="llrrr", width=report.page_width() - 2))
    for stretch in findings.curved(part):
        if not stretch.key.endswith(MIRRORED):  # the sweep itself tells it
            yield from _struck(stretch, display)
    for line in details.lines(part, job.shop, display):
        yield from report.paragraph(line, "  ")


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
        key_in_words(stretch.key),
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
            yield from report.paragraph(f"{key_in_words(stretch.key)}: {radii}{rule}", "  ")
    if stretch.fitted is not None:
        yield from _faired(key_in_words(stretch.key), stretch.fitted, display)


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
    yield from _nearest_arches(fitted, display)


def _nearest_arches(fitted: Fitted, display: Display) -> Iterator[str]:
    matches = findings.arches_near(fitted)
    near = findings.near_enough(fitted, matches)
    if near:
        yield "    the usual arches it comes nearest to:"
        rows = [
            (
                match.kind,
                display.length(match.span),
                display.length(match.rise),
                _small(match.largest_deviation, display),
                _small(match.rms, display),
            )
            for match in near
        ]
        table = report.table(("arch", "span", "rise", "off by at most", "on average"), rows, right="lrrrr")
        yield from (f"    {line}" for line in table)
    elif matches:
        best = min(matches, key=lambda match: match.largest_deviation)
        off = display.length(best.largest_deviation)
        yield f"    no usual arch comes near it: the nearest, {best.kind}, is off by {off}"


def _small(mm: float, display: Display) -> str:
    """A deviation: too small for the shop's rule, so in decimals."""
    return f"{mm / 25.4:.3f} in" if display.units == "in" else f"{mm:.2f} mm"
