"""Looking up tables that are straight between their nodes and held at their ends, a million samples at a time.

A search for the stretch a sample lies in costs more than the sum that follows. Nodes of ignition tables nearly
always stand on a common raster (500, 800, 1000 rpm on one of 100), and a table drawn out on such a raster is the
same function: the stretch is then found by one multiplication, or by one and a comparison where the nodes have no
raster in common. Work goes in runs that fit the processor's cache.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction

import numpy as np
from numpy.typing import ArrayLike, NDArray

from timing.errors import TimingError
from timing.inputs import FloatArray, FloatOrArray, finite, same_shape_as_asked, together, within

# Samples worked on at once: the arrays of one run stay in the cache, and below 128 KiB each of them comes from memory
# at hand; above that the system's allocator maps it afresh every time. `tests/bench/bench_surface.py` has the figures.
_RUN = 15_000

# A raster finer than this is no quicker than a search, and its table outgrows the cache.
_MOST_STEPS = 2_048

# Nodes that miss the raster by more than this share of the span are not on it. The noise of a unit conversion is a
# thousand times smaller, and the error it leaves in a looked-up degree is far below 1e-9.
_OFF_RASTER = 1e-13

# Nodes closer than this are one node typed twice, in any unit, and too steep to be divided by.
_CLOSEST = 1e-9


class TableError(TimingError):
    """A table whose nodes do not rise, or whose shape does not fit them."""


def rising(values: ArrayLike, what: str, unit: str) -> FloatArray:
    """`values` as a list of at least one figure, each higher than the one before.

    Parameters
    ----------
    values : sequence of float
        The figures. [unit]
    what, unit : str
        What they are, and their unit, for a refusal.

    Returns
    -------
    array of float, shape (n,)
        A new array. [unit]

    Raises
    ------
    TableError
        If there is none, or one does not rise, naming the two.
    """
    nodes = finite(values, what)
    if nodes.ndim != 1 or not nodes.size:
        raise TableError(f"{what} must be a list of at least one figure")
    with np.errstate(over="ignore"):
        stuck = np.flatnonzero(np.diff(nodes) <= _CLOSEST)
    if stuck.size:
        before, after = nodes[stuck[0] : stuck[0] + 2]
        raise TableError(f"{what} must rise, but {after:g} {unit} comes after {before:g} {unit}")
    return nodes


def common_raster(nodes: FloatArray) -> float | None:
    """The widest step on which every one of `nodes` stands, counted from the first, or None if there is none.

    None also where there are fewer than two nodes, or where the step would be too fine to be of use.
    """
    if nodes.size < 2:
        return None
    gaps = np.diff(nodes)
    narrowest, span = float(gaps.min()), float(nodes[-1] - nodes[0])
    if span > _MOST_STEPS * narrowest:
        return None
    shares = [Fraction(float(gap) / narrowest).limit_denominator(_MOST_STEPS) for gap in gaps]
    step = narrowest / math.lcm(*(share.denominator for share in shares))
    count = round(span / step)
    if count > _MOST_STEPS:
        return None
    step = span / count
    places = np.rint((nodes - nodes[0]) / step)
    missed = np.abs(nodes - (nodes[0] + places * step))
    return step if (missed <= _OFF_RASTER * span).all() else None


class _Axis:
    """One row of nodes, and for any sample the stretch it lies in and how far along it."""

    __slots__ = ("_first", "_last", "_stretches", "points")

    def __init__(self, nodes: FloatArray) -> None:
        self._first, self._last = float(nodes[0]), float(nodes[-1])
        step = common_raster(nodes)
        self.points = nodes
        self._stretches: _Even | _Uneven
        if step is None:
            self._stretches = _Uneven(nodes)
        else:
            count = round((self._last - self._first) / step)
            self.points = np.asarray(self._first + step * np.arange(count + 1), dtype=np.float64)
            self.points[-1] = self._last
            self._stretches = _Even(self._first, 1.0 / step)

    def find(self, samples: FloatArray) -> tuple[NDArray[np.intp], FloatArray]:
        """The number of the point at or below each sample, and the share of the stretch above it, 0 to 1."""
        return self._stretches.find(np.clip(samples, self._first, self._last))


class _Even:
    """Stretches of equal length: the whole part of one multiplication is which, the rest is how far along."""

    __slots__ = ("_first", "_per_step")

    def __init__(self, first: float, per_step: float) -> None:
        self._first, self._per_step = first, per_step

    def find(self, held: FloatArray) -> tuple[NDArray[np.intp], FloatArray]:
        held -= self._first
        held *= self._per_step
        at = held.astype(np.intp)
        held -= at
        return at, held


class _Uneven:
    """Stretches of any length: a raster fine enough to have at most one node in a step says which of two it is.

    Nodes too unlike in their distances for such a raster are searched for.
    """

    __slots__ = ("_before", "_first", "_next", "_nodes", "_per_length", "_per_step")

    def __init__(self, nodes: FloatArray) -> None:
        lengths = np.diff(nodes)
        self._nodes, self._first = nodes, float(nodes[0])
        # The last node has no stretch of its own, and nothing lies beyond it.
        self._per_length: FloatArray = np.append(1.0 / lengths, 0.0)
        self._per_step = float(self._per_length.max())
        self._before: NDArray[np.intp] | None = None
        if float(nodes[-1] - nodes[0]) * self._per_step <= _MOST_STEPS:
            step_of_node = self._steps(nodes)
            if (np.diff(step_of_node) > 0).all():
                # Whatever rounding does, a sample in a later step than a node is above it: both are rounded alike.
                steps = np.arange(step_of_node[-1] + 1)
                self._before = np.searchsorted(step_of_node, steps, side="left") - 1
                self._next = nodes[self._before + 1]

    def find(self, held: FloatArray) -> tuple[NDArray[np.intp], FloatArray]:
        if self._before is None:
            at = np.searchsorted(self._nodes, held, side="right") - 1
        else:
            step = self._steps(held)
            at = self._before.take(step)
            at += held >= self._next.take(step)
        held -= self._nodes.take(at)
        held *= self._per_length.take(at)
        return at, held

    def _steps(self, held: FloatArray) -> NDArray[np.intp]:
        return ((held - self._first) * self._per_step).astype(np.intp)


class HeldLine:
    """A line of straight stretches, its end values held outside: as `numpy.interp`, quicker for many samples.

    Parameters
    ----------
    nodes, values : array, shape (n,)
        Where the line bends, rising, and its value there. Both are checked by the caller.
    """

    __slots__ = ("_axis", "_rise", "_start")

    def __init__(self, nodes: FloatArray, values: FloatArray) -> None:
        self._axis = _Axis(nodes)
        self._start = np.interp(self._axis.points, nodes, values)
        self._rise = np.append(np.diff(self._start), 0.0)

    def at(self, samples: FloatArray) -> FloatArray:
        """The line's value at each of `samples`, finite and in a flat array short enough for the cache."""
        at, along = self._axis.find(samples)
        along *= self._rise[at]
        along += self._start[at]
        return along


class HeldGrid:
    """A table of values over two directions, bilinear between its nodes and held at its edges.

    Equal to `scipy.interpolate.RegularGridInterpolator` (linear) on samples brought inside the table.

    Parameters
    ----------
    rpm : array, shape (m,)
        Speeds of the columns, rising. [rpm at the crank]
    vacuum : array, shape (n,)
        Vacuum of the rows, rising. [kPa below atmosphere]
    values : array, shape (n, m)
        One row a vacuum, one column a speed. [degrees of crank]

    Raises
    ------
    TableError
        If nodes do not rise, or the table has another shape than its nodes ask for.
    TimingError
        If a figure is not a finite number, or a speed is negative.
    """

    __slots__ = ("_across", "_columns", "_corner", "_rpm", "_twist", "_up", "_vacuum")

    def __init__(self, *, rpm: ArrayLike, vacuum: ArrayLike, values: ArrayLike) -> None:
        speeds, vacua, table = checked_table(rpm=rpm, vacuum=vacuum, values=values)
        self._rpm, self._vacuum = _Axis(speeds), _Axis(vacua)
        drawn = np.empty((vacua.size, self._rpm.points.size))
        for row, line in enumerate(table):
            drawn[row] = np.interp(self._rpm.points, speeds, line)
        full = np.empty((self._vacuum.points.size, self._rpm.points.size))
        for column in range(full.shape[1]):
            full[:, column] = np.interp(self._vacuum.points, vacua, drawn[:, column])
        # In a cell the value is corner + across * x + up * y + twist * x * y, x and y running from 0 to 1. The last
        # row and column have no cell beyond them: their rises are nought, which holds the edge.
        across = np.diff(full, axis=1, append=full[:, -1:])
        up = np.diff(full, axis=0, append=full[-1:, :])
        twist = np.diff(across, axis=0, append=across[-1:, :])
        self._columns = full.shape[1]
        self._corner, self._across, self._up, self._twist = (
            np.ascontiguousarray(part).ravel() for part in (full, across, up, twist)
        )

    def at(self, *, rpm: ArrayLike, vacuum: ArrayLike) -> FloatOrArray:
        """The table's value at each pair of speed and vacuum, held at its edges. [degrees of crank]

        Parameters
        ----------
        rpm : float or array
            Engine speed, zero or more. [rpm at the crank]
        vacuum : float or array
            Manifold vacuum, negative under boost; broadcast against `rpm`. [kPa below atmosphere]

        Returns
        -------
        float or array
            A float for two single figures, otherwise an array of the broadcast shape. [degrees of crank]

        Raises
        ------
        TimingError
            If a speed is negative, or a figure is not finite.
        """
        return in_runs(self._at, rpm=rpm, vacuum=vacuum)

    def _at(self, rpm: FloatArray, vacuum: FloatArray) -> FloatArray:
        column, x = self._rpm.find(rpm)
        cell, y = self._vacuum.find(vacuum)
        cell *= self._columns
        cell += column
        total = self._twist.take(cell)
        total *= x
        total += self._up.take(cell)
        total *= y
        x *= self._across.take(cell)
        total += x
        total += self._corner.take(cell)
        return total


def checked_table(*, rpm: ArrayLike, vacuum: ArrayLike, values: ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Speeds, vacua and the table over them, or a refusal that says what does not fit.

    Parameters
    ----------
    rpm : sequence of float, length m
        Speeds of the columns, rising, zero or more. [rpm at the crank]
    vacuum : sequence of float, length n
        Vacuum of the rows, rising; negative under boost. [kPa below atmosphere]
    values : array, shape (n, m)
        One row a vacuum, one column a speed.

    Returns
    -------
    arrays of float, shapes (m,), (n,) and (n, m)
        Speeds, vacua and table.

    Raises
    ------
    TableError
        If nodes do not rise, or there are not as many rows as vacua and as many columns as speeds.
    TimingError
        If a figure is not a finite number, or a speed is negative.
    """
    speeds = rising(within(rpm, "the speed of a column", low=0, unit="rpm"), "the speeds of a table", "rpm")
    vacua = rising(vacuum, "the vacuum nodes of a table", "kPa")
    table = finite(values, "a value of the table")
    if table.shape != (vacua.size, speeds.size):
        asked = f"{vacua.size} rows of vacuum and {speeds.size} columns of speed"
        given = " by ".join(str(length) for length in table.shape) or "a single figure"
        raise TableError(f"the table needs {asked}, not {given}")
    return speeds, vacua, table


def in_runs(
    value_at: Callable[[FloatArray, FloatArray], FloatArray], *, rpm: ArrayLike, vacuum: ArrayLike
) -> FloatOrArray:
    """`value_at` over the broadcast of `rpm` and `vacuum`, in flat runs that stay in the processor's cache.

    Checking goes with the run as well, for a pass over the whole of two large arrays costs as much as the look-up.

    Parameters
    ----------
    value_at : callable
        Gives the values at flat arrays of speed and vacuum, which it may write into.
    rpm : float or array
        Engine speed, zero or more. [rpm at the crank]
    vacuum : float or array
        Manifold vacuum, broadcast against `rpm`; negative under boost. [kPa below atmosphere]

    Returns
    -------
    float or array
        A float for two single figures, otherwise an array of the broadcast shape.

    Raises
    ------
    TimingError
        If a speed is negative, a figure is not a finite number, or the two shapes do not go together.
    """
    speeds, vacua = together(
        _as_floats(rpm, "engine speed"), _as_floats(vacuum, "vacuum"), what="speeds and vacuum readings"
    )
    shape = speeds.shape
    speeds, vacua = speeds.reshape(-1), vacua.reshape(-1)
    result = np.empty(speeds.size)
    for start in range(0, speeds.size, _RUN):
        run = slice(start, start + _RUN)
        some_speeds, some_vacua = speeds[run], vacua[run]
        if not (some_speeds.min() >= 0 and some_speeds.max() < np.inf):
            within(some_speeds, "engine speed", low=0, unit="rpm")
        if not (some_vacua.min() > -np.inf and some_vacua.max() < np.inf):
            finite(some_vacua, "vacuum")
        result[run] = value_at(some_speeds, some_vacua)
    return same_shape_as_asked(result.reshape(shape))


def _as_floats(value: ArrayLike, what: str) -> FloatArray:
    """`value` as float64 without a copy where it is one already; what it holds is checked later, run by run."""
    if type(value) is np.ndarray and value.dtype == np.float64:
        return value
    return finite(value, what)
