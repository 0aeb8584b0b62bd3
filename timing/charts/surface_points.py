"""The cells of a surface as a grid on the drawing, and the points that are named on it: idle, cruise, full load."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from timing import inputs
from timing.charts.page import width_of
from timing.charts.scale import Point
from timing.inputs import FloatArray

# [units of the drawing] A slip must fit between the figures of two rows of the lowest cells.
SLIP, SLIP_LETTER = 14.0, 11.5
RADIUS = 12.0  # [units of the drawing] Of a ring: the figure of a cell stands inside it where both have one place.
CLEAR = RADIUS + 2  # [units of the drawing] From the middle of a ring to the slip beside it.

# The line on which a slip lies, and where it begins and ends.
_Slip = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class SurfacePoint:
    """A place worth naming on the surface, such as idle, cruise or full load.

    Attributes
    ----------
    name : str
        What it is called.
    rpm : float
        [rpm]
    vacuum : float
        In the unit of the drawing; negative under boost.
    """

    name: str
    rpm: float = field(kw_only=True)
    vacuum: float = field(kw_only=True)


@dataclass(frozen=True, slots=True)
class PlacedPoint:
    """A named point: a ring at its place, and its name on a slip of paper beside it."""

    name: str
    x: float
    y: float
    radius: float
    text_x: float
    text_y: float
    slip_x: float
    slip_y: float
    slip_width: float
    slip_height: float


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """Nodes, figures and where the cells lie; column and row 0 are at the lower left.

    Attributes
    ----------
    rpm, vacuum : tuple of float
        Rising nodes. [rpm], [unit of the drawing]
    degrees : array, shape (vacuum, rpm)
        The figures. [degrees of crank]
    left, top, cell_width, cell_height : float
        [units of the drawing]
    """

    rpm: tuple[float, ...]
    vacuum: tuple[float, ...]
    degrees: FloatArray
    left: float
    top: float
    cell_width: float
    cell_height: float

    @property
    def right(self) -> float:
        """Right edge of the last column. [units of the drawing]"""
        return self.left + self.cell_width * len(self.rpm)

    @property
    def bottom(self) -> float:
        """Lower edge of the lowest row. [units of the drawing]"""
        return self.top + self.cell_height * len(self.vacuum)

    def centre(self, column: float, row: float) -> Point:
        """Place of a node, or of a point broken between nodes.

        Parameters
        ----------
        column, row : float
            Counted from the lower left, broken between nodes.

        Returns
        -------
        (float, float)
            [units of the drawing]
        """
        return self.left + (column + 0.5) * self.cell_width, self.bottom - (row + 0.5) * self.cell_height


def place_points(cells: Cells, named: Sequence[SurfacePoint]) -> tuple[PlacedPoint, ...]:
    """Each point between its nodes, at the edge if it lies outside them.

    A slip lies on the line between two rows of cells, where it covers no figure.

    Parameters
    ----------
    cells : Cells
        Nodes and where the cells lie.
    named : sequence of SurfacePoint
        What is named.

    Returns
    -------
    tuple of PlacedPoint
        In the order given.

    Raises
    ------
    TimingError
        If a place is not finite.
    """
    placed: list[PlacedPoint] = []
    taken: list[_Slip] = []
    for point in named:
        where = inputs.finite([point.rpm, point.vacuum], f"the place of {point.name}")
        column = float(np.interp(where[0], cells.rpm, np.arange(len(cells.rpm))))
        row = float(np.interp(where[1], cells.vacuum, np.arange(len(cells.vacuum))))
        x, y = cells.centre(column, row)
        slip = round(width_of(point.name, SLIP_LETTER) + 6, 2)
        slip_x = x + CLEAR if x + CLEAR + slip <= cells.right else x - CLEAR - slip
        middle = _free_line(cells, y, (slip_x, slip_x + slip), taken)
        taken.append((middle, slip_x, slip_x + slip))
        placed.append(
            PlacedPoint(
                point.name,
                round(x, 2),
                round(y, 2),
                RADIUS,
                round(slip_x + slip / 2, 2),
                round(middle + SLIP_LETTER * 0.36, 2),
                round(slip_x, 2),
                round(middle - SLIP / 2, 2),
                slip,
                SLIP,
            )
        )
    return tuple(placed)


def _free_line(cells: Cells, preferred: float, ends: tuple[float, float], taken: Sequence[_Slip]) -> float:
    """The line between two rows nearest to `preferred` on which no other slip lies in the way."""
    lines = [cells.top + cells.cell_height * row for row in range(1, len(cells.vacuum))]
    left, right = ends
    free = [
        line
        for line in lines
        if all(line != its_line or right <= its_left or left >= its_right for its_line, its_left, its_right in taken)
    ]
    return min(free or lines, key=lambda line: abs(line - preferred))
