"""Contour lines of a table of figures, by marching squares.

Between four neighbouring figures the surface is taken as straight along the four sides; where two opposite corners
lie above the level and two below, the mean of the four decides which pair is joined.
"""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from timing import inputs
from timing.charts.errors import ChartError
from timing.charts.scale import Point
from timing.inputs import FloatArray

# A crossing is named by the side of the square it lies on: (row, column, whether the side runs along the row).
_Side = tuple[int, int, bool]

# Corners above the level, as bits 1 2 4 8 for (row, column), (row, column + 1), (row + 1, column + 1),
# (row + 1, column); sides as 0 1 2 3 beginning with the one between the first two corners.
_JOINED: dict[int, tuple[tuple[int, int], ...]] = {
    1: ((3, 0),),
    2: ((0, 1),),
    3: ((3, 1),),
    4: ((1, 2),),
    6: ((0, 2),),
    7: ((3, 2),),
    8: ((2, 3),),
    9: ((0, 2),),
    11: ((1, 2),),
    12: ((1, 3),),
    13: ((0, 1),),
    14: ((3, 0),),
}
# The two saddles: with the middle above the level the low corners are cut off, otherwise the high ones.
_SADDLE: dict[tuple[int, bool], tuple[tuple[int, int], ...]] = {
    (5, True): ((0, 1), (2, 3)),
    (5, False): ((3, 0), (1, 2)),
    (10, True): ((3, 0), (1, 2)),
    (10, False): ((0, 1), (2, 3)),
}


def contour(figures: FloatArray, level: float) -> tuple[tuple[Point, ...], ...]:
    """The lines along which `figures` equal `level`.

    Parameters
    ----------
    figures : array, shape (rows, columns)
        Two or more of each.
    level : float
        A figure equal to the level counts as above it.

    Returns
    -------
    tuple of lines
        Each a row of points (column, row), counted from 0 and broken between the nodes. A closed line ends with
        the point it begins with; an open one ends at the edge of the table.

    Raises
    ------
    TimingError
        If the table is smaller than two by two, or a figure is not finite.
    """
    table = inputs.finite(figures, "the surface")
    if table.ndim != 2 or min(table.shape) < 2:
        raise ChartError("contour lines need a table of two by two figures or more")
    threshold = inputs.number(level, "the level of a contour line")
    above = table >= threshold
    corners = above[:-1, :-1] + 2 * above[:-1, 1:] + 4 * above[1:, 1:] + 8 * above[1:, :-1]
    links: dict[_Side, list[_Side]] = defaultdict(list)
    for row, column in np.argwhere((corners > 0) & (corners < 15)).tolist():
        square = int(corners[row, column])
        if square in (5, 10):
            mean = float(table[row : row + 2, column : column + 2].mean())
            joined = _SADDLE[square, mean >= threshold]
        else:
            joined = _JOINED[square]
        sides = ((row, column, True), (row, column + 1, False), (row + 1, column, True), (row, column, False))
        for one, other in joined:
            links[sides[one]].append(sides[other])
            links[sides[other]].append(sides[one])
    return tuple(tuple(_crossing(table, threshold, side) for side in chain) for chain in _chains(links))


def _crossing(table: FloatArray, level: float, side: _Side) -> Point:
    row, column, along = side
    start = float(table[row, column])
    end = float(table[row, column + 1] if along else table[row + 1, column])
    part = (level - start) / (end - start)
    return (column + part, float(row)) if along else (float(column), row + part)


def _chains(links: dict[_Side, list[_Side]]) -> list[list[_Side]]:
    """The links end to end: first the lines that begin at the edge, then the rings."""
    loose = [side for side, others in links.items() if len(others) == 1]
    chains = []
    visited: set[_Side] = set()
    for start in [*loose, *links]:
        if start in visited:
            continue
        chain = [start]
        visited.add(start)
        while onward := [side for side in links[chain[-1]] if side not in visited]:
            chain.append(onward[0])
            visited.add(onward[0])
        if len(links[start]) == 2:  # a ring
            chain.append(start)
        chains.append(chain)
    return chains
