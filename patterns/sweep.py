"""A sweep: the curve that replaces a stretch of an edge, in the edge's own coordinates (station, depth; mm)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from patterns import arches
from patterns.affine import Affine
from patterns.blank import Blank, Edge
from patterns.display import Display
from patterns.errors import PatternError, Problem
from patterns.fitting import TableError, through_offsets, values_at
from patterns.piece import Given, SweepSpec
from patterns.stationtable import SAME_STATION_MM, StationTable, from_start, on_edge, table_of
from patterns.stretch import StationMark, Stretch

if TYPE_CHECKING:
    from patterns.measured import Fitted

SPRINGING_SETTLED_MM = 1e-10
"""The springing of an arch between sloping neighbours is found when the rise changes by less."""


class Swept(Struct, frozen=True, eq=False):
    """A sweep built on its edge. ``at_start`` and ``at_end`` say whether it takes the place of the edge's very end."""

    stretch: Stretch
    at_start: bool
    at_end: bool
    spec: SweepSpec

    @property
    def first(self) -> float:
        """The station where it begins (mm)."""
        return float(self.stretch.curve.start[0])

    @property
    def last(self) -> float:
        """The station where it ends (mm)."""
        return float(self.stretch.curve.end[0])


def swept(spec: SweepSpec, key: str, edge: Edge, blank: Blank, display: Display) -> list[Swept]:
    """The sweep, and its reflection where there is one. Raises PatternError with all that is wrong with it."""
    if spec.form == "arch":
        built = _arch(spec, key, edge, blank, display)
        return [built, _reflected(built, edge)] if spec.mirror else [built]
    table, far_end = table_of(spec, edge, blank, display), blank.far_end(edge)
    if spec.mirror and table.reaches(edge.length / 2):
        return [_fitted(spec, key, edge, table.joined_to_reflection(edge.length), far_end, display)]
    built = _fitted(spec, key, edge, table, far_end, display)
    if not spec.mirror:
        return [built]
    twin = _reflected(built, edge)
    marks = [
        replace(mark, text=_station_words(station, mark.depth, table, f" from {far_end}", display))
        for station, mark in zip(reversed(table.stations), twin.stretch.marks, strict=True)
    ]
    return [built, replace(twin, stretch=replace(twin.stretch, marks=tuple(marks)))]


def _swept(stretch: Stretch, spec: SweepSpec, edge: Edge) -> Swept:
    first, last = float(stretch.curve.start[0]), float(stretch.curve.end[0])
    return Swept(stretch, first <= SAME_STATION_MM, last >= edge.length - SAME_STATION_MM, spec)


def _reflected(built: Swept, edge: Edge) -> Swept:
    """The same sweep from the edge's other end."""
    over = Affine.reflection_x(edge.length / 2)
    stretch = built.stretch.transformed(over).turned_round()
    stretch = replace(stretch, key=f"{stretch.key}/mirror", marks=tuple(reversed(stretch.marks)))
    return Swept(stretch, built.at_end, built.at_start, built.spec)


# -------------------------------------------------------------------- tables


def _fitted(spec: SweepSpec, key: str, edge: Edge, table: StationTable, far_end: str, display: Display) -> Swept:
    fitted: Fitted | None = None
    if spec.form == "measured":
        fitted = _smoothest(spec, table)
        curve = fitted.curve
    else:
        curve = through_offsets(table.stations, table.depths, table.start, table.end)
    low, high = curve.bounds[1], curve.bounds[3]
    marks = []
    for station, depth in zip(table.stations, values_at(curve, table.stations).tolist(), strict=True):
        origin = f" from {far_end}" if table.is_reflected(station) else ""
        words = _station_words(table.as_given(station), depth, table, origin, display)
        marks.append(StationMark("station", (station, depth), (0.0, 1.0), depth, words))
    stretch = Stretch(
        key,
        edge.name,
        "spline",
        curve,
        span=table.stations[-1] - table.stations[0],
        rise=high - low,
        fitted=fitted,
        marks=tuple(marks),
        place=spec.place,
        reach=_deepest(spec, high),
    )
    return _swept(stretch, spec, edge)


def _deepest(spec: SweepSpec, depth: float) -> Given | None:
    """The depth given in the table that is as much as ``depth`` (mm), the most that its curve has; None if none is."""
    depths = [value for _, value in spec.table] if spec.table_is == "depths" else []
    deepest = max(depths, key=lambda given: given.value, default=None)
    return deepest if deepest is not None and deepest.value >= depth - SAME_STATION_MM else None


def _smoothest(spec: SweepSpec, table: StationTable) -> Fitted:
    # Late: only a measured table needs SciPy, which takes longer to load than a part takes to build.
    from patterns.measured import smoothest_within

    if spec.within is None:
        raise PatternError.of(spec.place, 'a measured table needs within, such as within = "1/32"')
    if spec.within.value <= 0.0:
        raise PatternError.of(spec.within.place, f"{spec.within.written}: has to be more than 0")
    within = spec.within.value
    try:
        return smoothest_within(table.stations, table.depths, within, table.left_out, table.start, table.end, least=0.0)
    except TableError as error:
        raise PatternError.of(spec.place, error.what) from error


def _station_words(station: float, depth: float, table: StationTable, origin: str, display: Display) -> str:
    """A station of the half that was given and its depth or height, as the table counts them.

    ``origin`` says where a reflected station is measured from.
    """
    value = depth if table.height is None else table.height - depth
    way = "deep" if table.height is None else "high"
    where = f"{display.length(station)}{origin}"
    if table.zero:
        where = f"{display.length(abs(station - table.zero))} from middle"
    return f"{where}: {display.length(value)} {way}"


# -------------------------------------------------------------------- arches


def _arch(spec: SweepSpec, key: str, edge: Edge, blank: Blank, display: Display) -> Swept:
    first, last = _limits(spec, edge, display)
    slopes = _sloping_ends(spec, edge, blank) if spec.arch_to == "edge" else (0.0, 0.0)
    arch = _settled_arch(spec, first, last, slopes, display)
    start, end = first + slopes[0] * arch.rise, last + slopes[1] * arch.rise
    middle = (start + end) / 2
    to_edge = spec.arch_to == "edge"
    curve = arch.curve.transformed(
        Affine(1.0, 0.0, 0.0, -1.0 if to_edge else 1.0, middle, arch.rise if to_edge else 0.0)
    )
    marks = _arch_marks(arch, start, end, to_edge, display)
    stretch = Stretch(
        key,
        edge.name,
        "arch",
        curve,
        span=arch.span,
        rise=arch.rise,
        arch=arch,
        marks=marks,
        place=spec.place,
        reach=spec.rise,
    )
    at_start = spec.start is None or first <= SAME_STATION_MM
    at_end = spec.end is None or last >= edge.length - SAME_STATION_MM
    return Swept(stretch, at_start, at_end, spec)


def _arch_marks(
    arch: arches.Arch, start: float, end: float, to_edge: bool, display: Display
) -> tuple[StationMark, ...]:
    springing, crown = (arch.rise, 0.0) if to_edge else (0.0, arch.rise)
    middle, words = (start + end) / 2, f"crown, rise {display.length(arch.rise)}"
    return (
        StationMark("springing", (start, springing), (1.0, 0.0), springing, "springing"),
        StationMark("crown", (middle, crown), (0.0, 1.0), crown, words),
        StationMark("springing", (end, springing), (-1.0, 0.0), springing, "springing"),
    )


def _limits(spec: SweepSpec, edge: Edge, display: Display) -> tuple[float, float]:
    """The stations between which the arch stands (mm). Raises PatternError for stations that can't be."""
    given = [limit for limit in (spec.start, spec.end) if limit is not None]
    problems = [problem for limit in given for problem in on_edge(limit, spec, edge, display)]
    first = 0.0 if spec.start is None else from_start(spec.start, spec, edge)
    last = edge.length if spec.end is None else from_start(spec.end, spec, edge)
    if not problems and last - first <= SAME_STATION_MM:
        limit = given[-1]
        where = f"{display.length(first)} to {display.length(last)}"
        problems.append(
            Problem(limit.place, f"{limit.written}: an arch from {where} has no span; to has to be beyond from")
        )
    if not problems and spec.mirror and first < edge.length / 2 - SAME_STATION_MM < last - 2 * SAME_STATION_MM:
        middle = display.at_most(edge.length / 2)
        past = f"the arch reaches past the middle of the edge ({middle}), where its reflection begins"
        words = f"{past}; end it there, or take mirror out"
        problems.append(Problem(spec.place, words))
    if problems:
        raise PatternError(problems)
    return first, last


def _sloping_ends(spec: SweepSpec, edge: Edge, blank: Blank) -> tuple[float, float]:
    """How the station of each neighbouring edge moves with depth: a whole edge's springing line ends on them."""

    def lean(neighbour: Edge) -> float:
        x, y = edge.from_part.point(*neighbour.start)
        far_x, far_y = edge.from_part.point(*neighbour.end)
        return (far_x - x) / (far_y - y) if abs(far_y - y) > SAME_STATION_MM else 0.0

    before, after = blank.neighbours(edge)
    return lean(before) if spec.start is None else 0.0, lean(after) if spec.end is None else 0.0


def _settled_arch(
    spec: SweepSpec, first: float, last: float, slopes: tuple[float, float], display: Display
) -> arches.Arch:
    """The arch whose springing, ``rise`` inside, is as wide as the blank is there.

    With the rise given the span follows at once; with a radius the two are found by turns.
    """
    widening = slopes[1] - slopes[0]
    rise = 0.0 if spec.rise is None else spec.rise.value
    for _ in range(100):
        span = last - first + widening * rise
        if span <= SAME_STATION_MM:
            place, written = (spec.rise.place, spec.rise.written) if spec.rise else (spec.place, "this arch")
            raise PatternError.of(place, f"{written}: the blank has no width left so far from the edge")
        arch = _checked_arch(spec, span, widening, display)
        if abs(arch.rise - rise) <= SPRINGING_SETTLED_MM or not widening:
            return arch
        rise = arch.rise
    raise PatternError.of(spec.place, "no arch of this radius fits between the edges beside it; give the rise instead")


def _checked_arch(spec: SweepSpec, span: float, widening: float, display: Display) -> arches.Arch:
    def value(given: Given | None) -> float | None:
        return None if given is None else given.value

    try:
        return arches.arch(
            spec.arch, span, rise=value(spec.rise), radius=value(spec.radius), end_radius=value(spec.end_radius)
        )
    except arches.ArchError as error:
        if error.key == "rise" and error.limit is not None and widening and spec.rise is not None:
            error.limit = _limit_as_it_widens(spec.arch, error, span - widening * spec.rise.value, widening)
        raise PatternError([_arch_problem(spec, error, display)]) from error


def _limit_as_it_widens(kind: str, error: arches.ArchError, width: float, widening: float) -> float | None:
    """The limit of the rise (mm) where the span is ``width + widening * rise``; None where it does not settle."""
    limit = error.limit or 0.0
    for _ in range(100):
        span = width + widening * limit
        if span <= SAME_STATION_MM:
            return None
        before, limit = limit, arches.rise_limits(kind, span)[0 if error.bound == "least" else 1]
        if abs(limit - before) <= SPRINGING_SETTLED_MM:
            return limit
    return None


def _arch_problem(spec: SweepSpec, error: arches.ArchError, display: Display) -> Problem:
    """The arch's own words with the figures in the file's unit, at the value that is to blame."""
    given = {"rise": spec.rise, "radius": spec.radius, "end_radius": spec.end_radius}.get(error.key)
    if given is None:
        return Problem(spec.place, error.worded(display.length))
    return Problem(given.place, error.worded(display.length, given.written, display.at_most, display.at_least))
