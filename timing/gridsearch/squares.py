"""The least sum of squared errors among all settings within an error, by dynamic programming."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from timing.grid import GridFitError
from timing.gridsearch.reachable import Reachable
from timing.gridsearch.task import MOST_WORK, Task, Window, slack, too_large
from timing.inputs import FloatArray

# Figures in one block of arithmetic, so that wide ranges of values do not fill the memory.
BLOCK = 1_000_000


def least_squares_within(task: Task, least: float) -> tuple[FloatArray, FloatArray]:
    """The nodes with the least sum of squares among those whose largest error is `least`.

    Parameters
    ----------
    task : Task
        The fit.
    least : float
        The largest error allowed, which some setting has. [degrees of crank]

    Returns
    -------
    rpm, degrees : arrays of float, shape (count,)
        The nodes. [rpm], [degrees of crank]

    Raises
    ------
    GridFitError
        If the search would take too long.
    """
    window = Window.of(task, least)
    squares = Squares.within(window)
    totals = [
        np.where(window.may_begin(node), squares.below(node) + squares.to_come[node, -1, : window.size[node]], np.inf)
        for node in range(task.raster.size - task.count + 1)
    ]
    fewest = min(float(total.min(initial=np.inf)) for total in totals)
    # What reaches the goal is a tie. Walking up from the lowest node, the lowest value that still reaches it is taken
    # each time, and of two nodes that may have it the slower.
    goal = fewest + slack(fewest)
    value, node, spent = min(
        (float(window.degrees[node, pick]), node, float(squares.below(node)[pick]))
        for node, total in enumerate(totals)
        for pick in np.flatnonzero(total <= goal)[:1]
    )
    nodes, values = [node], [value]
    for left in reversed(range(task.count - 1)):
        others, cost = squares.between(node, np.array([value]))
        so_far = spent + cost[0]
        totals = list(so_far + squares.to_come[others.start : others.stop, left])
        value, node, spent = min(
            (float(window.degrees[other, pick]), other, float(so_far[other - others.start, pick]))
            for other, total in zip(others, totals, strict=True)
            for pick in np.flatnonzero(total <= goal)[:1]
        )
        nodes.append(node)
        values.append(value)
    return task.raster[nodes], np.array(values)


@dataclass(frozen=True, slots=True, eq=False)
class Squares:
    """Sums of squared errors of whatever stays within a window."""

    window: Window
    # The least from each speed and value upwards, by the number of nodes above it; infinite where nothing is allowed.
    # Shape (P, count, K).
    to_come: FloatArray

    @classmethod
    def within(cls, window: Window) -> Squares:
        """The sums of all settings in `window`.

        Raises
        ------
        GridFitError
            If that would take too long.
        """
        task = window.task
        size, width = task.raster.size, window.width
        pairs = size if task.every_node_is_set else size * size // 2
        if pairs * width * width * (8 + 2 * (1 if task.every_node_is_set else task.count)) > 4 * MOST_WORK:
            raise GridFitError(too_large(task.raster, task.steps))
        # Where every node is set, there is one number of nodes to come and nothing to leave out.
        reachable = None if task.every_node_is_set else Reachable.within(window)
        squares = cls(window, np.full((size, task.count, width), np.inf))
        for node in reversed(range(size)):
            values = window.values(node)
            own = squares.to_come[node, :, : values.size]
            lefts = [size - 1 - node] if reachable is None else reachable.nodes_above(node)
            if 0 in lefts:
                own[0] = np.where(window.may_end(node), squares._above(node), np.inf)
            lefts = [left for left in lefts if left]
            if not lefts:
                continue
            block = max(1, BLOCK // (width * len(task.next_nodes(node))))
            for start in range(0, values.size, block):
                others, cost = squares.between(node, values[start : start + block])
                for left in lefts:
                    total = cost + squares.to_come[others.start : others.stop, left - 1]
                    own[left, start : start + block] = total.reshape(len(cost), -1).min(axis=1)
        return squares

    def below(self, node: int) -> FloatArray:
        """The curve below its lowest node `node`, for each of its values. Shape (K,)."""
        return self._outside(node, slice(int(self.window.task.points_below[node])))

    def _above(self, node: int) -> FloatArray:
        """The curve at its highest node `node` and above it, for each of its values. Shape (K,)."""
        own = self.window.values(node) - self.window.task.target[node]
        return np.asarray(self._outside(node, slice(int(self.window.task.points_up_to[node]), None)) + own**2)

    def _outside(self, node: int, outside: slice) -> FloatArray:
        task = self.window.task
        there = task.target_there[outside][task.summed[outside]]
        return np.asarray(((self.window.values(node)[:, np.newaxis] - there) ** 2).sum(axis=1))

    def between(self, node: int, values: FloatArray) -> tuple[range, FloatArray]:
        """The next nodes, and the curve at `node` and from there up to each of them, without it.

        Shape (values, next nodes, K); infinite where an error would be too large.

        Parameters
        ----------
        node : int
            Place of the lower node on the raster.
        values : array of float, shape (K,)
            Values there. [degrees of crank]

        Returns
        -------
        range, array of float, shape (K, next nodes, values there)
            The next nodes, and the sums. [degrees squared]
        """
        window, task = self.window, self.window.task
        others = task.next_nodes(node)
        ends = slice(others.start, others.stop)
        inside = slice(int(task.points_up_to[node]), int(task.points_below[others[-1]]))
        counted = task.summed[inside]
        run = np.where(counted, task.points[inside] - task.raster[node], 0.0)
        # Counted from the target at `node`, so that what is squared stays small.
        rise = np.where(counted, task.target_there[inside] - task.target[node], 0.0)
        passed = task.points_below[ends] - task.points_up_to[node]
        number, runs, runs2, rises, rises2, both = (
            np.concatenate([[0.0], np.cumsum(terms)])[passed]
            for terms in (counted, run, run**2, rise, rise**2, run * rise)
        )
        start = (values - task.target[node])[:, np.newaxis]
        length = task.raster[ends] - task.raster[node]
        # The line is start + slope * run; what it costs is a square of the value at its end.
        lean = (start * runs - both) / length
        bend = runs2 / length**2
        flat = start * ((number + 1) * start - 2 * rises) + rises2
        flat, lean = flat + start * (bend * start - 2 * lean), 2 * (lean - bend * start)
        end = window.degrees[ends] - task.target[node]
        squares = bend[:, np.newaxis] * end + lean[..., np.newaxis]
        squares *= end
        squares += flat[..., np.newaxis]
        low, high = window.reach(node, others, values)
        place = np.arange(window.width)
        squares[(place < low[..., np.newaxis]) | (place > high[..., np.newaxis])] = np.inf
        return others, squares
