"""What of a panel a pattern shows: the whole of it, or one of the boards that it is glued up from."""

from __future__ import annotations

from itertools import pairwise

from msgspec import Struct

from patterns.blank import Edge
from patterns.carcass.panel import Panel
from patterns.curve import Curve
from patterns.gluelines import meets
from patterns.outline import Outline
from patterns.part import Board, Part
from patterns.stretch import Stretch

SAME_MM = 1e-6


class Shown(Struct, frozen=True, eq=False):
    """A part's panel as it is drawn. ``strip`` is None for the whole of it; for a board it is the axis (0: x, 1: y) along
    which boards follow one another and the two coordinates between which this one lies."""

    part: Part
    panel: Panel
    outline: Outline
    stretches: tuple[Stretch, ...]
    strip: tuple[int, float, float] | None = None

    def of_strip(self, curve: Curve) -> list[Curve]:
        """The stretches of a curve that belong to the board."""
        if self.strip is None:
            return [curve]
        axis, low, high = self.strip
        cuts = [t for line in (low, high) for t in meets(curve, line, axis)]
        edges = [0.0, *sorted(t for t in cuts if SAME_MM < t < len(curve) - SAME_MM), float(len(curve))]
        pieces = [(a, b) for a, b in pairwise(edges) if low < curve.point((a + b) / 2)[axis] < high]
        return [curve if (a, b) == (0.0, float(len(curve))) else curve.between(a, b) for a, b in pieces]

    def straight_run(self, edge: Edge) -> tuple[float, float] | None:
        """The stations between which the edge is straight here, the longest run of them; None where it is not at all."""
        runs = []
        for stretch in self.stretches:
            if stretch.edge == edge.name and stretch.kind == "straight":
                ends = [
                    edge.from_part.point(float(x), float(y))[0] for x, y in (stretch.curve.start, stretch.curve.end)
                ]
                runs.append((min(ends), max(ends)))
        return max(runs, key=lambda run: run[1] - run[0], default=None)


def shown(part: Part, board: Board | None = None, axis: int = 1) -> Shown | None:
    """The panel of a part, or of one of its boards; None where the part is no panel."""
    panel = part.spec.panel
    if panel is None:
        return None
    if board is None:
        return Shown(part, panel, part.outline, part.stretches)
    return Shown(part, panel, board.outline, board.stretches, (axis, *board.strip))
