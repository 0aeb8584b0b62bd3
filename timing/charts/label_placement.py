"""Where a line of lettering stands clear of the lines that are drawn on a plot."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from timing.charts.page import CAPITAL, GAP, LETTER, Plot
from timing.charts.scale import Point

BELOW_BASE = 0.22 * LETTER  # [units of the drawing] How far a 'y' reaches under its base line.
FROM_LINE = 1.5  # [units of the drawing] Least distance of lettering from a line it does not belong to.


def clear_place(
    span: float, bases: Sequence[float], plot: Plot, lines: Sequence[Sequence[Point]], uprights: Sequence[float]
) -> Point:
    """Where a text of width `span` begins on its base line: as far left as it is clear of everything drawn.

    A worse base line is taken only where the whole of a better one is crossed. Where all are, the text stands at the
    left end of the best.

    Parameters
    ----------
    span : float
        Width of the text. [units of the drawing]
    bases : sequence of float
        Base lines that come into question, the best first. [units of the drawing]
    plot : Plot
        What the text has to stay on.
    lines : sequence of sequences of points
        Lines that run from left to right, by their corners.
    uprights : sequence of float
        Where upright lines stand. [units of the drawing]

    Returns
    -------
    (float, float)
        Where the text begins, on its base line. [units of the drawing]
    """
    for base in bases:
        top, bottom = base - CAPITAL - FROM_LINE, base + BELOW_BASE + FROM_LINE
        if top < plot.top or bottom > plot.bottom:
            continue
        for left in _beginnings(span, plot):
            ends = (left - FROM_LINE, left + span + FROM_LINE)
            if any(ends[0] < upright < ends[1] for upright in uprights):
                continue
            if not any(_crosses(line, ends, (top, bottom)) for line in lines):
                return left, base
    return plot.left + GAP, bases[0]


def _beginnings(span: float, plot: Plot) -> Iterator[float]:
    left = plot.left + GAP
    while left + span <= plot.right - GAP:
        yield left
        left += GAP


def _crosses(line: Sequence[Point], ends: tuple[float, float], heights: tuple[float, float]) -> bool:
    """Whether any of `line` lies between `ends` across and between `heights`."""
    across, up = np.array(line).T
    low, high = max(ends[0], across[0]), min(ends[1], across[-1])
    if low > high:
        return False
    corners = up[(across > low) & (across < high)]
    reached = [*np.interp((low, high), across, up), *corners]
    return bool(min(reached) < heights[1] and max(reached) > heights[0])
