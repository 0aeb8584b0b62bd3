"""The cells of a map: which one a sample falls into, and how a point is shared among the nodes around it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from timing.inputs import FloatArray, finite, within
from timing.lookup import rising
from timing.roadlog.settings import RoadLogError

# Up to here counting the edges below a sample, all samples at once, beats searching for each of them. Measured.
_MOST_COUNTED = 48

_SHORTEST, _LONGEST = np.iinfo(np.int16).min, np.iinfo(np.int16).max


class Span(NamedTuple):
    """The lowest and the highest of some samples."""

    low: float
    high: float

    @classmethod
    def of(cls, samples: FloatArray) -> Span:
        """The span of at least one sample; NaN among them makes both NaN."""
        return cls(float(samples.min()), float(samples.max()))

    @property
    def is_finite(self) -> bool:
        """Whether every sample is."""
        return self.low > -np.inf and self.high < np.inf


class _Edges:
    """The edges between the cells of one axis, and how many of them a sample has reached."""

    __slots__ = ("_are_short", "edges")

    def __init__(self, nodes: tuple[float, ...]) -> None:
        places = np.array(nodes)
        self.edges: FloatArray = (places[:-1] + places[1:]) / 2.0
        # A sample has reached a whole edge exactly when its whole part has, and whole numbers are three times as
        # quick to compare. The whole part is taken towards zero, so the edges must lie above zero.
        self._are_short = bool(
            (self.edges > 0.0).all() and (self.edges <= _LONGEST).all() and (self.edges == np.floor(self.edges)).all()
        )

    def below(self, samples: FloatArray, span: Span) -> NDArray[np.unsignedinteger]:
        """How many edges each sample has reached, the edge itself included.

        Parameters
        ----------
        samples : array, shape (k,)
            Checked by the caller.
        span : Span
            The lowest and the highest of them.

        Returns
        -------
        array of int, shape (k,)
        """
        if self.edges.size > _MOST_COUNTED:
            return np.searchsorted(self.edges, samples, side="right").astype(np.uint32)
        counted = np.zeros(samples.shape, dtype=np.uint8)
        reached = np.empty(samples.shape, dtype=np.bool_)
        if self._are_short and span.low >= _SHORTEST and span.high <= _LONGEST:
            whole, edges = samples.astype(np.int16), self.edges.astype(np.int16)
            for edge in edges:
                np.greater_equal(whole, edge, out=reached)
                counted += reached.view(np.uint8)
            return counted
        for edge in self.edges:
            np.greater_equal(samples, edge, out=reached)
            counted += reached.view(np.uint8)
        return counted


@dataclass(frozen=True, slots=True, init=False)
class Grid:
    """The nodes of a map's cells. Tables over it have a row for each vacuum and a column for each speed.

    Parameters
    ----------
    rpm : sequence of float, length m
        Speeds of the columns, rising, zero or more. [rpm at the crank]
    vacuum : sequence of float, length n
        Vacuum of the rows, rising; negative is boost. [kPa below atmosphere]

    Raises
    ------
    TimingError
        If there is no node, nodes do not rise, a speed is negative or a figure is not finite.
    """

    rpm: tuple[float, ...]
    vacuum: tuple[float, ...]

    def __init__(self, *, rpm: ArrayLike, vacuum: ArrayLike) -> None:
        speeds = rising(within(rpm, "the speed of a node", low=0.0, unit="rpm"), "the speeds of a map", "rpm")
        vacua = rising(vacuum, "the vacuum nodes of a map", "kPa")
        object.__setattr__(self, "rpm", tuple(speeds.tolist()))
        object.__setattr__(self, "vacuum", tuple(vacua.tolist()))

    @property
    def shape(self) -> tuple[int, int]:
        """Rows of vacuum, columns of speed."""
        return len(self.vacuum), len(self.rpm)

    def cells(self, *, rpm: ArrayLike, vacuum: ArrayLike) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Row and column of the nearest node: edges lie halfway, an edge belongs to the higher node.

        Parameters
        ----------
        rpm : float or array
            Engine speed, zero or more. [rpm at the crank] The outer cells are open.
        vacuum : float or array
            Manifold vacuum, of the same shape. [kPa below atmosphere]

        Returns
        -------
        row, column : array of int
            Of the shape of `rpm`.

        Raises
        ------
        TimingError
            If a figure is not finite, or a speed is negative.
        """
        speeds, vacua = self._points(rpm, vacuum)
        if not speeds.size:
            return np.zeros(speeds.shape, np.intp), np.zeros(speeds.shape, np.intp)
        columns = _Edges(self.rpm).below(speeds, Span.of(speeds)).astype(np.intp)
        return _Edges(self.vacuum).below(vacua, Span.of(vacua)).astype(np.intp), columns

    def edges(self) -> tuple[FloatArray, FloatArray]:
        """The speeds [rpm] and the vacua [kPa] halfway between neighbouring nodes."""
        return _Edges(self.rpm).edges, _Edges(self.vacuum).edges

    def finder(self) -> CellFinder:
        """For a long log: finds the cells of one run of samples after the other."""
        return CellFinder(self)

    def shared(self, *, rpm: ArrayLike, vacuum: ArrayLike, amount: ArrayLike) -> FloatArray:
        """`amount` at each point shared among the four nodes around it by bilinear weights, and summed.

        Points outside are brought to the edge of the grid. The sum over the table is the sum of the amounts.

        Parameters
        ----------
        rpm, vacuum : float or array
            The points. [rpm at the crank], [kPa below atmosphere]
        amount : float or array
            What is shared out, of the same shape.

        Returns
        -------
        array, shape (n, m)

        Raises
        ------
        TimingError
            If a figure is not finite, a speed is negative, or the shapes differ.
        """
        speeds, vacua = self._points(rpm, vacuum)
        amounts = finite(amount, "what is shared out")
        if amounts.shape != speeds.shape:
            raise RoadLogError(f"{amounts.size} figures cannot be shared out from {speeds.size} points")
        column, along = _place(speeds, self.rpm)
        row, up = _place(vacua, self.vacuum)
        table = np.zeros(self.shape)
        for next_row, row_share in ((0, 1.0 - up), (1, up)):
            for next_column, column_share in ((0, 1.0 - along), (1, along)):
                # A share of nought may point beyond the last node; it is brought back, and adds nothing.
                rows = np.minimum(row + next_row, self.shape[0] - 1)
                columns = np.minimum(column + next_column, self.shape[1] - 1)
                np.add.at(table, (rows, columns), amounts * row_share * column_share)
        return table

    def _points(self, rpm: ArrayLike, vacuum: ArrayLike) -> tuple[FloatArray, FloatArray]:
        speeds, vacua = within(rpm, "engine speed", low=0.0, unit="rpm"), finite(vacuum, "vacuum")
        if speeds.shape != vacua.shape:
            raise RoadLogError(f"{speeds.size} speeds and {vacua.size} vacuum readings do not go together")
        return speeds, vacua


class CellFinder:
    """The cells of a grid as single numbers, row after row, for samples that are already checked."""

    __slots__ = ("_across", "_columns", "_up")

    def __init__(self, grid: Grid) -> None:
        self._across, self._up = _Edges(grid.rpm), _Edges(grid.vacuum)
        self._columns = np.uint32(len(grid.rpm))

    def numbers(self, *, rpm: FloatArray, vacuum: FloatArray, rpm_span: Span, vacuum_span: Span) -> NDArray[np.uint32]:
        """Number of the cell of each sample: row times columns, plus column.

        Parameters
        ----------
        rpm, vacuum : array, shape (k,)
            Checked by the caller. [rpm at the crank], [kPa below atmosphere]
        rpm_span, vacuum_span : Span
            The lowest and highest of each.

        Returns
        -------
        array of int, shape (k,)
        """
        number: NDArray[np.uint32] = self._up.below(vacuum, vacuum_span).astype(np.uint32)
        number *= self._columns
        number += self._across.below(rpm, rpm_span)
        return number


def _place(points: FloatArray, nodes: tuple[float, ...]) -> tuple[NDArray[np.intp], FloatArray]:
    """The node at or below each point, and the share of the stretch above it, 0 to 1."""
    inside = np.clip(points, nodes[0], nodes[-1])
    at = np.searchsorted(nodes, inside, side="right") - 1
    stretches = np.append(np.diff(nodes), 1.0)  # the last node has no stretch of its own
    return at, np.asarray((inside - np.array(nodes)[at]) / stretches[at])
