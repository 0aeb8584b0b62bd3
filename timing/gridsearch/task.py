"""One fit, with every curve read off at the raster and at the breakpoints, and the values that come into question."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol, TypeAlias

import numpy as np
from numpy.typing import NDArray

from timing.curve import AdvanceCurve
from timing.grid import SAME, DegreeSteps, GridFitError
from timing.inputs import FloatArray

IntArray: TypeAlias = NDArray[np.int64]

# Figures worked on in one search: half a second of work at the outside. Going from one speed to the next costs as much
# as some thousands of them.
MOST_WORK = 250_000_000
_WORK_PER_SPEED = 4_000
_DECISIONS = 14  # what the halving takes, about

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


def slack(size: float) -> float:
    """What two errors of this size may differ by and still be one. [degrees, degrees squared]"""
    return SAME * max(1.0, size)


@dataclass(frozen=True, slots=True, eq=False)
class Task:
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
    def of(cls, target: AdvanceCurve, raster: FloatArray, count: int, steps: DegreeSteps, bounds: Bounds) -> Task:
        """The fit of `count` nodes on `raster` and `steps` to `target`.

        Parameters
        ----------
        target, raster, count, steps, bounds
            As for `timing.gridsearch.best_nodes`.

        Returns
        -------
        Task
            The fit.
        """
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
        """Whether no node is free to choose its speed."""
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
class Window:
    """All values that may be taken where no error is above `most`.

    The values at a speed are `first` and the following whole steps, `size` of them; arrays over values are as wide as
    the speed that has most.
    """

    task: Task
    most: float
    first: IntArray
    size: IntArray
    # Degrees of every value, shape (P, K), and the least and greatest advance at each breakpoint.
    degrees: FloatArray
    low_there: FloatArray
    high_there: FloatArray
    # The tightest of these from each breakpoint upwards, and of all before each.
    low_above: FloatArray
    high_above: FloatArray
    low_below: FloatArray
    high_below: FloatArray

    @classmethod
    def of(cls, task: Task, most: float) -> Window:
        """The values within `most` of the target.

        Parameters
        ----------
        task : Task
            The fit.
        most : float
            The largest error allowed. [degrees of crank]

        Returns
        -------
        Window
            The values.

        Raises
        ------
        GridFitError
            If there are so many that the search would take too long.
        """
        steps = task.steps
        low = np.maximum(task.target - most, task.floor) - SAME
        high = np.minimum(task.target + most, task.ceiling) + SAME
        first = np.maximum(steps.lowest, np.ceil(low / steps.step)).astype(np.int64)
        last = np.minimum(steps.highest, np.floor(high / steps.step)).astype(np.int64)
        size = np.maximum(last - first + 1, 0)
        width = int(max(size.max(), 1))
        if task.every_node_is_set:
            # Every value is tried with every value of the next speed, at the breakpoints between the two.
            work = width * width * (12 * task.raster.size + 4 * task.points.size)
        else:
            per_speed = _WORK_PER_SPEED + 12 * width * (task.raster.size + task.points.size)
            work = _DECISIONS * task.raster.size * per_speed
        if work > MOST_WORK:
            raise GridFitError(too_large(task.raster, steps))
        most += slack(most)
        low_there = np.maximum(task.target_there - most, task.floor_there - SAME)
        high_there = np.minimum(task.target_there + most, task.ceiling_there + SAME)
        return cls(
            task=task,
            most=most,
            first=first,
            size=size,
            degrees=steps.degrees(first[:, np.newaxis] + np.arange(width)),
            low_there=low_there,
            high_there=high_there,
            low_above=np.append(np.maximum.accumulate(low_there[::-1])[::-1], -np.inf),
            high_above=np.append(np.minimum.accumulate(high_there[::-1])[::-1], np.inf),
            low_below=np.append(-np.inf, np.maximum.accumulate(low_there)),
            high_below=np.append(np.inf, np.minimum.accumulate(high_there)),
        )

    @property
    def width(self) -> int:
        """Most values that any speed has."""
        return int(self.degrees.shape[1])

    def values(self, node: int) -> FloatArray:
        """The values at `node`, rising. Shape (K,). [degrees of crank]"""
        return self.degrees[node, : self.size[node]]

    def may_end(self, node: int) -> NDArray[np.bool_]:
        """For each value of `node`: whether it may be held all the way above it."""
        place, values = self.task.points_up_to[node], self.values(node)
        return np.asarray((values >= self.low_above[place]) & (values <= self.high_above[place]))

    def may_begin(self, node: int) -> NDArray[np.bool_]:
        """For each value of `node`: whether it may be held all the way below it."""
        place, values = self.task.points_below[node], self.values(node)
        return np.asarray((values >= self.low_below[place]) & (values <= self.high_below[place]))

    def reach(self, node: int, others: range, values: FloatArray) -> tuple[IntArray, IntArray]:
        """The lowest and the highest value at each of `others` that a line from each of `values` at `node` may end at.

        Counted from the first value there; shapes (K, others). Nothing may be reached where the highest is lower.

        Parameters
        ----------
        node : int
            Place of the lower node on the raster.
        others : range
            Places of the next nodes, at least one.
        values : array of float, shape (K,)
            Values at `node`. [degrees of crank]

        Returns
        -------
        arrays of int, shape (K, others)
            The lowest and the highest, counted from the first value there.
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


def too_large(raster: FloatArray, steps: DegreeSteps) -> str:
    """The sentence that refuses a search that would take too long.

    Parameters
    ----------
    raster : array of float, shape (P,)
        The speeds a node may stand at. [rpm]
    steps : DegreeSteps
        The values the unit can hold.

    Returns
    -------
    str
        Names the step and the number of speeds.
    """
    return (
        f"a step of {steps.step:g} at {raster.size} speeds is too much to search; take a coarser step or fewer speeds"
    )


def impossible(task: Task) -> str:
    """How the sentence begins that says where no curve stays within the bounds."""
    return f"no setting of the unit keeps the curve {task.bounds.rule}"
