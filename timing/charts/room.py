"""How much room lettering takes beside a plot."""

from __future__ import annotations

from timing.charts.paper import ASIDE, GAP, Axis, width_of
from timing.charts.scale import Scale, figure_text


def room_beside(axis: Axis) -> float:
    """Where a plot may begin at the earliest, so that the longest figure of its upward axis stands on the paper.

    The longest is seldom at an end: '−0.5°' is longer than '−2°'. [units of the drawing]
    """
    figures = Scale(axis.low, axis.high, 0.0, 1.0).graduations(axis.strong)
    return max(width_of(figure_text(figure, axis.decimals) + axis.suffix) for figure in figures) + ASIDE + GAP
