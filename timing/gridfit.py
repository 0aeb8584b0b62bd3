"""The closest a unit can come to a wanted curve, holding only certain degrees at certain speeds: found exactly.

The unit draws straight lines between its nodes and holds the end values outside them, and so does the wanted
curve. Their difference is therefore linear between the breakpoints of both, and its largest size stands at one
of them: nothing is sampled. Dynamic programming over the nodes tries every value that could matter, once: for
each node and value it keeps the best that the nodes above can still do (handbook, section 4).

The entrances are `AdvanceCurve.fit_to` and `AdvanceCurve.fit_free`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from timing.grid import SAME, Bounds, DegreeSteps, GridFitError
from timing.inputs import FloatArray

if TYPE_CHECKING:
    from timing.curve import AdvanceCurve

# Comparisons made in one search: about a second of work, and a matrix of tens of megabytes at worst. Going from one
# pair of speeds to the next costs as much as some thousand of them.
_MOST_COMPARISONS = 20_000_000
_COMPARISONS_PER_STRETCH = 2000
_MOST_SPEEDS = 2000

# Figures in one block of arithmetic, so that a wanted curve of thousands of nodes does not fill the memory.
_BLOCK = 250_000


def best_nodes(
    wanted: AdvanceCurve, raster: FloatArray, count: int, steps: DegreeSteps, bounds: Bounds
) -> tuple[FloatArray, FloatArray]:
    """The `count` nodes on `raster` whose curve comes closest to `wanted`.

    Closest is the smallest largest error; of several such the one with the least sum of squared errors over the
    breakpoints (the nodes of `wanted` and the nodes chosen); of several such the one that is lower at the first
    node where they differ, the retarded side, and failing that the one with the slower node there.

    Parameters
    ----------
    wanted : AdvanceCurve
        The curve to follow.
    raster : array of float, shape (P,)
        The speeds at which a node may stand, rising. [rpm]
    count : int
        How many nodes the unit has, 1 to P. With P nodes none is free, and every speed of the raster is one.
    steps : DegreeSteps
        The values the unit can hold.
    bounds : Bounds
        Where the curve has to stay.

    Returns
    -------
    rpm, degrees : arrays of float, shape (count,)
        The nodes. [rpm], [degrees]

    Raises
    ------
    GridFitError
        If no such curve stays within `bounds`, naming where, or the search would be too long.
    """
    if raster.size > _MOST_SPEEDS:
        raise GridFitError(_too_large(raster, steps))
    task = _Task.of(wanted, raster, count, steps, bounds)
    _refuse_node_without_value(task)
    reach = task.first_reach()
    while True:
        tries = task.tries(reach)
        least = _least(task, tries, _WORST, _best_to_come(task, tries, _WORST))
        # A node is itself a breakpoint: a value further than `reach` from the wanted curve there is a worse error.
        if least <= reach + _slack(reach) or reach >= task.furthest():
            break
        reach = min(2 * reach, least)
    if math.isinf(least):
        raise GridFitError(_why_impossible(task, tries))
    return _least_squares_within(task, least + _slack(least))


def _slack(size: float) -> float:
    return SAME * max(1.0, size)


@dataclass(frozen=True, slots=True, eq=False)
class _Judged:
    """Worst error (infinite where out of bounds) and sum of squared errors, for each value or pair of values."""

    worst: FloatArray
    squares: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class _Measure:
    """What is made small: the `cost` of a stretch, and how the costs of two stretches are taken together."""

    cost: Callable[[_Judged], FloatArray]
    together: Callable[[FloatArray, FloatArray], FloatArray]


_WORST = _Measure(lambda judged: judged.worst, np.maximum)


def _squares_if_within(most: float) -> _Measure:
    return _Measure(lambda judged: np.where(judged.worst <= most, judged.squares, np.inf), np.add)


@dataclass(frozen=True, slots=True, eq=False)
class _Tries:
    """What is worth trying: the values at each speed of the raster, and the speeds of its next node."""

    values: list[FloatArray]
    onward: list[list[int]]


@dataclass(frozen=True, slots=True, eq=False)
class _Task:
    """One fit, with every curve read off at the raster and at the breakpoints."""

    raster: FloatArray
    count: int
    steps: DegreeSteps
    bounds: Bounds
    wanted: FloatArray
    floor: FloatArray
    ceiling: FloatArray
    # Distance of the chord between two speeds of the raster from the wanted curve. Shape (P, P).
    bulge: FloatArray
    points: FloatArray
    # How many of the breakpoints lie below each speed of the raster, and how many below it or on it.
    points_below: list[int]
    points_up_to: list[int]
    wanted_there: FloatArray
    floor_there: FloatArray
    ceiling_there: FloatArray
    # The nodes of the bounds are looked at for the bounds' sake; only those of the wanted curve are summed.
    summed: NDArray[np.bool_]

    @classmethod
    def of(cls, wanted: AdvanceCurve, raster: FloatArray, count: int, steps: DegreeSteps, bounds: Bounds) -> _Task:
        points = np.unique(np.concatenate([wanted.rpm, *bounds.breakpoints()]))
        floor, ceiling = bounds.at(raster)
        floor_there, ceiling_there = bounds.at(points)
        return cls(
            raster=raster,
            count=count,
            steps=steps,
            bounds=bounds,
            wanted=np.asarray(wanted.advance(raster)),
            floor=floor,
            ceiling=ceiling,
            bulge=_bulge(wanted, raster),
            points=points,
            points_below=np.searchsorted(points, raster, side="left").tolist(),
            points_up_to=np.searchsorted(points, raster, side="right").tolist(),
            wanted_there=np.asarray(wanted.advance(points)),
            floor_there=floor_there,
            ceiling_there=ceiling_there,
            summed=np.isin(points, wanted.rpm),
        )

    @property
    def every_node_is_set(self) -> bool:
        return self.count == self.raster.size

    def first_reach(self) -> float:
        """A guess at the least error, rather too large; a wrong one costs time, never correctness."""
        if not self.every_node_is_set:
            return self.steps.step
        rounding = np.abs(self.steps.nearest(self.wanted) - self.wanted).max()
        bulge = np.diagonal(self.bulge, 1).max(initial=0.0)
        return float(max(bulge / 2, rounding)) + self.steps.step / 2

    def furthest(self) -> float:
        """The largest distance between the wanted curve and any value of the unit. [degrees]"""
        lowest, highest = self.steps.degrees(np.array([self.steps.lowest, self.steps.highest]))
        return float(max(self.wanted.max() - lowest, highest - self.wanted.min()))

    def tries(self, reach: float) -> _Tries:
        """All that could end in a worst error of `reach` or less."""
        values = [
            self.steps.between(max(wanted - reach, floor), min(wanted + reach, ceiling))
            for wanted, floor, ceiling in zip(self.wanted, self.floor, self.ceiling, strict=True)
        ]
        # The ends of a stretch lie within `reach` of the ends of the chord, so that the stretch lies within
        # `reach` of the chord: where that is twice as far from the wanted curve, the stretch is too far.
        near = self.bulge <= 2 * (reach + _slack(reach))
        onward = [
            [other for other in self.next_nodes(node) if near[node, other] and values[other].size]
            if values[node].size
            else []
            for node in range(self.raster.size)
        ]
        comparisons = sum(
            _COMPARISONS_PER_STRETCH
            + values[node].size * values[other].size * (1 + self.points_below[other] - self.points_up_to[node])
            for node, others in enumerate(onward)
            for other in others
        )
        if comparisons > _MOST_COMPARISONS:
            raise GridFitError(_too_large(self.raster, self.steps))
        return _Tries(values, onward)

    def to_come(self, node: int) -> range:
        """How many nodes may be chosen above `node`: enough must be left below it, and above it."""
        return range(max(0, self.count - 1 - node), min(self.count, self.raster.size - node))

    def next_nodes(self, node: int) -> range:
        """Which speeds of the raster may carry the next node above `node`."""
        fewest_left = max(0, self.count - 2 - node)
        return range(node + 1, self.raster.size - fewest_left)

    def below(self, node: int, values: FloatArray) -> _Judged:
        """The curve below its lowest node `node`, for each of its values. Shapes (K,)."""
        outside = slice(0, self.points_below[node])
        return self._judge(values, np.zeros_like(values), outside, np.zeros(outside.stop))

    def above(self, node: int, values: FloatArray) -> _Judged:
        """The curve at its highest node `node` and above it, for each of its values. Shapes (K,)."""
        outside = slice(self.points_up_to[node], self.points.size)
        run = np.zeros(outside.stop - outside.start)
        held = self._judge(values, np.zeros_like(values), outside, run)
        return self._with_node(held, node, values)

    def between(self, node: int, other: int, values: FloatArray, others: FloatArray) -> _Judged:
        """The curve at `node` and from there up to the next node `other`, without it. Shapes (K, L)."""
        inside = slice(self.points_up_to[node], self.points_below[other])
        column = values[:, np.newaxis]
        run = (self.points[inside] - self.raster[node]) / (self.raster[other] - self.raster[node])
        return self._with_node(self._judge(column, others - column, inside, run), node, column)

    def _with_node(self, judged: _Judged, node: int, values: FloatArray) -> _Judged:
        own = values - self.wanted[node]
        return _Judged(np.maximum(judged.worst, np.abs(own)), judged.squares + own**2)

    def _judge(self, start: FloatArray, rise: FloatArray, where: slice, run: FloatArray) -> _Judged:
        """The line `start + run * rise` at the breakpoints `where`."""
        shape = np.broadcast_shapes(start.shape, rise.shape)
        worst, squares = np.zeros(shape), np.zeros(shape)
        length = max(1, _BLOCK // max(1, math.prod(shape)))
        for first in range(where.start, where.stop, length):
            block = slice(first, min(first + length, where.stop))
            part = run[block.start - where.start : block.stop - where.start]
            drawn = start[..., np.newaxis] + rise[..., np.newaxis] * part
            gap = drawn - self.wanted_there[block]
            worst = np.maximum(worst, np.abs(gap).max(axis=-1))
            out = (drawn < self.floor_there[block] - SAME) | (drawn > self.ceiling_there[block] + SAME)
            worst[out.any(axis=-1)] = np.inf
            squares = squares + (gap[..., self.summed[block]] ** 2).sum(axis=-1)
        return _Judged(worst, squares)


def _bulge(wanted: AdvanceCurve, raster: FloatArray) -> FloatArray:
    """For every two speeds of the raster: how far the wanted curve strays from its chord between them."""
    nodes, degrees = np.array(wanted.rpm), np.array(wanted.degrees)
    ends = np.asarray(wanted.advance(raster))
    bulge = np.zeros((raster.size, raster.size))
    for low in range(raster.size - 1):
        run = (nodes - raster[low]) / (raster[low + 1 :, np.newaxis] - raster[low])
        chord = ends[low] + run * (ends[low + 1 :, np.newaxis] - ends[low])
        gap = np.where((run > 0) & (run < 1), np.abs(chord - degrees), 0.0)
        bulge[low, low + 1 :] = gap.max(axis=1)
    return bulge


def _best_to_come(task: _Task, tries: _Tries, measure: _Measure) -> list[FloatArray]:
    """For each speed of the raster, number of nodes above it and value there: the least cost from there upwards.

    One array a speed, of shape (count, K); infinite where nothing is allowed.
    """
    best = [np.full((task.count, values.size), np.inf) for values in tries.values]
    for node in reversed(range(task.raster.size)):
        if 0 in task.to_come(node):
            best[node][0] = measure.cost(task.above(node, tries.values[node]))
        for other in tries.onward[node]:
            cost = measure.cost(task.between(node, other, tries.values[node], tries.values[other]))
            for left in task.to_come(node):
                if left:
                    via = measure.together(cost, best[other][left - 1]).min(axis=1)
                    np.minimum(best[node][left], via, out=best[node][left])
    return best


def _from_lowest(task: _Task, tries: _Tries, measure: _Measure, best: list[FloatArray]) -> list[FloatArray]:
    """The cost of the whole curve, for each speed and value of its lowest node."""
    return [
        measure.together(measure.cost(task.below(node, values)), best[node][-1])
        for node, values in enumerate(tries.values)
    ]


def _least(task: _Task, tries: _Tries, measure: _Measure, best: list[FloatArray]) -> float:
    return min(float(total.min(initial=np.inf)) for total in _from_lowest(task, tries, measure, best))


def _least_squares_within(task: _Task, most: float) -> tuple[FloatArray, FloatArray]:
    """The nodes with the least sum of squares among those whose worst error is `most` at most."""
    tries, measure = task.tries(most), _squares_if_within(most)
    best = _best_to_come(task, tries, measure)
    least = _least(task, tries, measure, best)
    goal = least + _slack(least)
    # What reaches the goal is a tie. Walking up from the lowest node, the lowest value that still reaches it is
    # taken each time.
    totals = _from_lowest(task, tries, measure, best)
    value, node = _lowest_that_reaches(goal, enumerate(totals), tries)
    spent = float(task.below(node, np.array([value])).squares[0])
    nodes, values = [node], [value]
    for left in reversed(range(task.count - 1)):
        here = np.array([value])
        up = {
            other: spent + measure.cost(task.between(node, other, here, tries.values[other]))[0]
            for other in tries.onward[node]
        }
        value, other = _lowest_that_reaches(
            goal, ((other, cost + best[other][left]) for other, cost in up.items()), tries
        )
        spent = float(up[other][tries.values[other] == value][0])
        node = other
        nodes.append(node)
        values.append(value)
    return task.raster[nodes], np.array(values)


def _lowest_that_reaches(goal: float, totals: Iterable[tuple[int, FloatArray]], tries: _Tries) -> tuple[float, int]:
    """The lowest value whose total is within `goal`, and the lowest node that has it."""
    return min(
        (float(tries.values[node][pick]), node) for node, total in totals for pick in np.flatnonzero(total <= goal)[:1]
    )


def _too_large(raster: FloatArray, steps: DegreeSteps) -> str:
    return (
        f"a step of {steps.step:g} at {raster.size} speeds is too much to search; take a coarser step or fewer speeds"
    )


def _refuse_node_without_value(task: _Task) -> None:
    if not task.every_node_is_set:
        return
    steps = task.steps
    for rpm, floor, ceiling in zip(task.raster, task.floor, task.ceiling, strict=True):
        if not steps.between(max(floor, steps.low), min(ceiling, steps.high)).size:
            least = f"{floor:.4g} to " if np.isfinite(floor) else "at most "
            raise GridFitError(
                f"{_impossible(task)} at {rpm:g} rpm: that asks for {least}{ceiling:.4g} degrees, "
                f"and the unit holds {steps.low:g} to {steps.high:g} degrees in steps of {steps.step:g}"
            )


def _why_impossible(task: _Task, tries: _Tries) -> str:
    """The sentence that says where no curve stays within the bounds, `tries` being all that is allowed."""
    best = _best_to_come(task, tries, _WORST)
    possible_from = [node for node, own in enumerate(best) if np.isfinite(own).any()]
    if not possible_from:
        return f"{_impossible(task)} above its last node, where the value of that node is held"
    lowest = possible_from[0]
    if not lowest:
        return f"{_impossible(task)} below its first node, where the value of that node is held"
    return (
        f"{_impossible(task)} all the way: it can be done from {task.raster[lowest]:g} rpm upwards, "
        f"but not from {task.raster[lowest - 1]:g} rpm upwards"
    )


def _impossible(task: _Task) -> str:
    return f"no setting of the unit keeps the curve {task.bounds.rule}"
