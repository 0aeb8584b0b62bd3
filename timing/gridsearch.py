"""The search behind `timing.gridfit`: which nodes, on which raster and steps, come closest to a curve. Exact.

The unit draws straight lines between its nodes and holds the end values outside them, and so does the target. Their
difference is therefore linear between the breakpoints of both, and its largest size stands at one of them: nothing is
sampled.

Whether any setting stays within an error is decided first. From a node at one value the line to the next may leave
between two slopes, the tightest that the breakpoints on the way allow: a running maximum and minimum over them give
the range of values at every later speed at once. Which numbers of nodes lead on to the end is kept as bits, and the
bits of a range of values are taken together in two look-ups. The error is narrowed down by halving, and each setting
found on the way ends at one that can be reached. Among all settings with that error dynamic programming then finds the
least sum of squares (handbook, section 4).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from timing.curve import AdvanceCurve
from timing.grid import SAME, DegreeSteps, GridFitError
from timing.inputs import FloatArray

IntArray = NDArray[np.int64]
BitArray = NDArray[np.uint64]

# Figures worked on in one search: half a second of work at the outside. Going from one speed to the next costs as much
# as some thousands of them.
_MOST_WORK = 250_000_000
_WORK_PER_SPEED = 4_000
_DECISIONS = 14  # what the halving takes, about
_MOST_SPEEDS = 2000
_MOST_FREE_NODES = 60  # as many as there are bits to tell their number, and far more than any unit has

# Figures in one block of arithmetic, so that wide ranges of values do not fill the memory.
_BLOCK = 1_000_000

_ROUNDING = 1e-9  # [steps] What a value may miss a whole step by.


class Bounds(Protocol):
    """Where a fitted curve has to stay."""

    @property
    def rule(self) -> str:
        """What completes the sentence 'no setting of the unit keeps the curve …'."""

    def at(self, rpm: FloatArray) -> tuple[FloatArray, FloatArray]:
        """The lowest and the highest advance allowed at `rpm`, infinite where none is set. [degrees]"""

    def breakpoints(self) -> list[tuple[float, ...]]:
        """The speeds at which a bound bends. [rpm]"""


def best_nodes(
    target: AdvanceCurve, raster: FloatArray, count: int, steps: DegreeSteps, bounds: Bounds
) -> tuple[FloatArray, FloatArray]:
    """The `count` nodes on `raster` whose curve comes closest to `target`.

    Closest is the smallest largest error; of several such the one with the least sum of squared errors over the
    breakpoints (the nodes of `target` and the nodes chosen); of several such the one that is lower at the first
    node where they differ, the retarded side, and failing that the one with the slower node there.

    Parameters
    ----------
    target : AdvanceCurve
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

    References
    ----------
    Handbook, section 4. Running slopes as in H. Imai and M. Iri, 'Computational-geometric methods for polygonal
    approximations of a curve', 1986 (from memory); the bits, the steps and the ties are our own.
    """
    free = count < raster.size
    if raster.size > _MOST_SPEEDS or (free and count > _MOST_FREE_NODES):
        raise GridFitError(_too_large(raster, steps))
    task = _Task.of(target, raster, count, steps, bounds)
    _refuse_node_without_value(task)
    least = _least_error(task)
    return _least_squares_within(task, least)


def _slack(size: float) -> float:
    return SAME * max(1.0, size)


@dataclass(frozen=True, slots=True, eq=False)
class _Task:
    """One fit, with every curve read off at the raster and at the breakpoints."""

    raster: FloatArray
    count: int
    steps: DegreeSteps
    bounds: Bounds
    target: FloatArray
    floor: FloatArray
    ceiling: FloatArray
    points: FloatArray
    # How many of the breakpoints lie below each speed of the raster, and how many below it or on it.
    points_below: IntArray
    points_up_to: IntArray
    target_there: FloatArray
    floor_there: FloatArray
    ceiling_there: FloatArray
    # The nodes of the bounds are looked at for the bounds' sake; only those of the target are summed.
    summed: NDArray[np.bool_]

    @classmethod
    def of(cls, target: AdvanceCurve, raster: FloatArray, count: int, steps: DegreeSteps, bounds: Bounds) -> _Task:
        points = np.unique(np.concatenate([target.rpm, *bounds.breakpoints()]))
        floor, ceiling = bounds.at(raster)
        floor_there, ceiling_there = bounds.at(points)
        return cls(
            raster=raster,
            count=count,
            steps=steps,
            bounds=bounds,
            target=np.asarray(target.advance(raster)),
            floor=floor,
            ceiling=ceiling,
            points=points,
            points_below=np.searchsorted(points, raster, side="left"),
            points_up_to=np.searchsorted(points, raster, side="right"),
            target_there=np.asarray(target.advance(points)),
            floor_there=floor_there,
            ceiling_there=ceiling_there,
            summed=np.isin(points, target.rpm),
        )

    @property
    def every_node_is_set(self) -> bool:
        return self.count == self.raster.size

    def furthest(self) -> float:
        """The largest error that any setting could have. [degrees]"""
        lowest, highest = self.steps.degrees(np.array([self.steps.lowest, self.steps.highest]))
        asked = np.concatenate([self.target, self.target_there])
        return float(max(asked.max() - lowest, highest - asked.min()))

    def bit_of(self, number: int) -> np.uint64:
        """Which bit says that there may be `number` nodes; where every node is set, their number needs no telling."""
        return np.uint64(0 if self.every_node_is_set else number)

    def numbers(self, node: int) -> np.uint64:
        """As bits: how many nodes there may be from `node` upwards, itself included, so that `count` can be had."""
        if self.every_node_is_set:
            return np.uint64(1)
        fewest, most = max(1, self.count - node), min(self.count, self.raster.size - node)
        return np.uint64(max(0, (1 << (most + 1)) - (1 << fewest)))

    def next_nodes(self, node: int) -> range:
        """Which speeds of the raster may carry the next node above `node`."""
        fewest_left = max(0, self.count - 2 - node)
        return range(node + 1, self.raster.size - fewest_left)


@dataclass(frozen=True, slots=True, eq=False)
class _Window:
    """All values that may be taken where no error is above `most`.

    The values at a speed are `first` and the following whole steps, `size` of them; arrays over values are as wide as
    the speed that has most.
    """

    task: _Task
    most: float
    first: IntArray
    size: IntArray
    # Degrees of every value, shape (P, K), and the least and greatest advance at each breakpoint.
    degrees: FloatArray
    low_there: FloatArray
    high_there: FloatArray

    @classmethod
    def of(cls, task: _Task, most: float) -> _Window:
        steps = task.steps
        low = np.maximum(task.target - most, task.floor) - SAME
        high = np.minimum(task.target + most, task.ceiling) + SAME
        first = np.maximum(steps.lowest, np.ceil(low / steps.step)).astype(np.int64)
        last = np.minimum(steps.highest, np.floor(high / steps.step)).astype(np.int64)
        size = np.maximum(last - first + 1, 0)
        width = int(max(size.max(), 1))
        others = 1 if task.every_node_is_set else task.raster.size
        per_speed = _WORK_PER_SPEED + 12 * width * (others + task.points.size)
        work = _DECISIONS * task.raster.size * per_speed
        if work > _MOST_WORK:
            raise GridFitError(_too_large(task.raster, steps))
        most += _slack(most)
        return cls(
            task=task,
            most=most,
            first=first,
            size=size,
            degrees=steps.degrees(first[:, np.newaxis] + np.arange(width)),
            low_there=np.maximum(task.target_there - most, task.floor_there - SAME),
            high_there=np.minimum(task.target_there + most, task.ceiling_there + SAME),
        )

    @property
    def width(self) -> int:
        return int(self.degrees.shape[1])

    def values(self, node: int) -> FloatArray:
        return self.degrees[node, : self.size[node]]

    def ends_well(self, node: int, *, above: bool) -> NDArray[np.bool_]:
        """For each value of `node`: whether it may be held all the way above it, or below it."""
        task = self.task
        outside = slice(int(task.points_up_to[node]), None) if above else slice(int(task.points_below[node]))
        low = self.low_there[outside].max(initial=-np.inf)
        high = self.high_there[outside].min(initial=np.inf)
        values = self.values(node)
        return np.asarray((values >= low) & (values <= high))

    def reach(self, node: int, others: range, values: FloatArray) -> tuple[IntArray, IntArray]:
        """The lowest and the highest value at each of `others` that a line from each of `values` at `node` may end at.

        Counted from the first value there; shapes (K, others). Nothing may be reached where the highest is lower.
        """
        task = self.task
        beyond = slice(int(task.points_up_to[node]), int(task.points_below[others[-1]]))
        run = task.points[beyond] - task.raster[node]
        column = values[:, np.newaxis]
        least = np.full((values.size, run.size + 1), -np.inf)
        greatest = np.full((values.size, run.size + 1), np.inf)
        np.maximum.accumulate((self.low_there[beyond] - column) / run, axis=1, out=least[:, 1:])
        np.minimum.accumulate((self.high_there[beyond] - column) / run, axis=1, out=greatest[:, 1:])
        ends = slice(others.start, others.stop)
        passed = task.points_below[ends] - task.points_up_to[node]
        length = task.raster[ends] - task.raster[node]
        low = (column + least[:, passed] * length) / task.steps.step - self.first[ends]
        high = (column + greatest[:, passed] * length) / task.steps.step - self.first[ends]
        size = self.size[ends]
        return (
            np.ceil(np.clip(low - _ROUNDING, 0, size)).astype(np.int64),
            np.floor(np.clip(high + _ROUNDING, -1, size - 1)).astype(np.int64),
        )


def _least_error(task: _Task) -> float:
    """The smallest largest error that any setting has. [degrees]"""
    furthest = task.furthest()
    tried = min(task.steps.step / 2, furthest)
    refused = 0.0
    while True:
        found = _Reachable.within(_Window.of(task, tried)).error_of_one()
        if found is not None:
            break
        if tried >= furthest:
            raise GridFitError(_why_impossible(task))
        refused, tried = tried, min(2 * tried, furthest)
    best = found
    # An error once reached is only bettered by another setting: where the two are close, the next try is the last. A
    # window is wider than asked by the noise of arithmetic, hence three times that.
    while best - refused > 4 * _slack(best):
        close = best - refused < task.steps.step / 16
        tried = best - 3 * _slack(best) if close else (best + refused) / 2
        found = _Reachable.within(_Window.of(task, tried)).error_of_one()
        if found is not None and found < best:
            best = found
        else:
            refused = tried
    return best


@dataclass(frozen=True, slots=True, eq=False)
class _Reachable:
    """For every speed and value: with how many nodes, itself included, the curve can be led on to its end. As bits."""

    window: _Window
    numbers: BitArray  # shape (P, K)

    @classmethod
    def within(cls, window: _Window) -> _Reachable:
        task = window.task
        size = task.raster.size
        levels = window.width.bit_length()
        # What any of 1, 2, 4 … values from each onwards can do: any range is two of these that overlap.
        ranges = np.zeros((levels, size, window.width), dtype=np.uint64)
        numbers = ranges[0]
        for node in reversed(range(size)):
            values = window.values(node)
            if not values.size:
                continue
            own = np.zeros(values.size, dtype=np.uint64)
            if node >= task.count - 1:
                own |= window.ends_well(node, above=True).astype(np.uint64) << task.bit_of(1)
            if task.next_nodes(node):
                own |= cls._onward(window, ranges, node, values) << task.bit_of(1)
            numbers[node, : values.size] = own & task.numbers(node)
            for level in range(1, levels):
                half = 1 << (level - 1)
                if 2 * half > values.size:
                    break
                before = ranges[level - 1, node]
                span = values.size - 2 * half + 1
                ranges[level, node, :span] = before[:span] | before[half : half + span]
        return cls(window, numbers)

    @staticmethod
    def _onward(window: _Window, ranges: BitArray, node: int, values: FloatArray) -> BitArray:
        """What each of `values` at `node` can reach at any next node."""
        others = window.task.next_nodes(node)
        low, high = window.reach(node, others, values)
        length = high - low + 1
        level = _LEVEL_OF[np.clip(length, 0, None)] if length.max(initial=0) < _LEVEL_OF.size else _levels(length)
        at = np.arange(others.start, others.stop)
        some = ranges[level, at, np.minimum(low, window.width - 1)] | ranges[level, at, high - (1 << level) + 1]
        some[length <= 0] = 0
        return np.asarray(np.bitwise_or.reduce(some, axis=1))

    def starts(self) -> list[NDArray[np.bool_]]:
        """For each speed and value: whether a whole curve may begin there."""
        task, window = self.window.task, self.window
        asked = np.uint64(1) << task.bit_of(task.count)
        return [
            window.ends_well(node, above=False) & ((self.numbers[node, : window.size[node]] & asked) > 0)
            for node in range(task.raster.size - task.count + 1)
        ]

    def error_of_one(self) -> float | None:
        """The largest error of one setting that stays within, or None if there is none. [degrees]"""
        task, window = self.window.task, self.window
        starts = self.starts()
        possible = [node for node, may_start in enumerate(starts) if may_start.any()]
        if not possible:
            return None
        node = possible[0]
        place = _nearest(np.flatnonzero(starts[node]), window.values(node), task.target[node])
        nodes, values = [node], [window.values(node)[place]]
        for left in reversed(range(1, task.count)):
            others = task.next_nodes(node)
            low, high = window.reach(node, others, np.array([values[-1]]))
            asked = np.uint64(1) << task.bit_of(left)
            for other, first, last in zip(others, low[0].tolist(), high[0].tolist(), strict=True):
                leads_on = np.flatnonzero(self.numbers[other, first : last + 1] & asked) + first
                if leads_on.size:
                    break
            node = other
            nodes.append(node)
            values.append(window.values(node)[_nearest(leads_on, window.values(node), task.target[node])])
        places = np.concatenate([task.points, task.raster[nodes]])
        there = np.concatenate([task.target_there, task.target[nodes]])
        return float(np.abs(np.interp(places, task.raster[nodes], values) - there).max())


def _nearest(places: IntArray, values: FloatArray, wished: float) -> int:
    return int(places[np.abs(values[places] - wished).argmin()])


def _levels(length: IntArray) -> IntArray:
    """The greatest power of two within each length, as an exponent; 0 for lengths below 1."""
    return np.asarray(np.frexp(np.maximum(length, 1))[1] - 1, dtype=np.int64)


_LEVEL_OF = _levels(np.arange(4096))


def _least_squares_within(task: _Task, least: float) -> tuple[FloatArray, FloatArray]:
    """The nodes with the least sum of squares among those whose largest error is `least`."""
    window = _Window.of(task, least)
    reachable = _Reachable.within(window)
    squares = _Squares.of(reachable)
    totals = [
        np.where(may_start, squares.below(node) + squares.to_come[node, -1, : may_start.size], np.inf)
        for node, may_start in enumerate(reachable.starts())
    ]
    fewest = min(float(total.min(initial=np.inf)) for total in totals)
    # What reaches the goal is a tie. Walking up from the lowest node, the lowest value that still reaches it is taken
    # each time, and of two nodes that may have it the slower.
    goal = fewest + _slack(fewest)
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
class _Squares:
    """Sums of squared errors of whatever stays within a window."""

    window: _Window
    # The least from each speed and value upwards, by the number of nodes above it; infinite where nothing is allowed.
    # Shape (P, count, K).
    to_come: FloatArray

    @classmethod
    def of(cls, reachable: _Reachable) -> _Squares:
        window = reachable.window
        task = window.task
        size, width = task.raster.size, window.width
        pairs = size if task.every_node_is_set else size * size // 2
        if pairs * width * width * (8 + 2 * (1 if task.every_node_is_set else task.count)) > 4 * _MOST_WORK:
            raise GridFitError(_too_large(task.raster, task.steps))
        squares = cls(window, np.full((size, task.count, width), np.inf))
        for node in reversed(range(size)):
            values = window.values(node)
            own = squares.to_come[node, :, : values.size]
            numbers = reachable.numbers[node, : values.size]
            if not numbers.any():
                continue
            lefts = [size - 1 - node] if task.every_node_is_set else _bits(numbers, task.count)
            if 0 in lefts:
                own[0] = np.where(window.ends_well(node, above=True), squares._above(node), np.inf)
            lefts = [left for left in lefts if left]
            if not lefts:
                continue
            block = max(1, _BLOCK // (width * len(task.next_nodes(node))))
            for start in range(0, values.size, block):
                others, cost = squares.between(node, values[start : start + block])
                for left in lefts:
                    best = squares.to_come[others.start : others.stop, left - 1]
                    own[left, start : start + block] = (cost + best).min(axis=(1, 2))
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
        start = (values - task.target[node])[:, np.newaxis, np.newaxis]
        length = (task.raster[ends] - task.raster[node])[:, np.newaxis]
        slope = (window.degrees[ends] - task.target[node] - start) / length
        shape = (slice(None), np.newaxis)
        squares = start * (number[shape] + 1) * start + rises2[shape] - 2 * start * rises[shape]
        squares = squares + slope * (runs2[shape] * slope + 2 * (start * runs[shape] - both[shape]))
        low, high = window.reach(node, others, values)
        place = np.arange(window.width)
        within = (place >= low[..., np.newaxis]) & (place <= high[..., np.newaxis])
        return others, np.where(within, squares, np.inf)


def _bits(numbers: BitArray, count: int) -> list[int]:
    """How many nodes may be above, of all that `numbers` say."""
    any_of = int(np.bitwise_or.reduce(numbers))
    return [left for left in range(count) if any_of >> (left + 1) & 1]


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


def _why_impossible(task: _Task) -> str:
    """The sentence that says where no curve stays within the bounds."""
    numbers = _Reachable.within(_Window.of(task, task.furthest())).numbers
    possible_from = np.flatnonzero(numbers.any(axis=1))
    if not possible_from.size:
        return f"{_impossible(task)} above its last node, where the value of that node is held"
    lowest = int(possible_from[0])
    if not lowest:
        return f"{_impossible(task)} below its first node, where the value of that node is held"
    return (
        f"{_impossible(task)} all the way: it can be done from {task.raster[lowest]:g} rpm upwards, "
        f"but not from {task.raster[lowest - 1]:g} rpm upwards"
    )


def _impossible(task: _Task) -> str:
    return f"no setting of the unit keeps the curve {task.bounds.rule}"
