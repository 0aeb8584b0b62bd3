"""Whether any setting stays within an error.

From a node at one value the line to the next may leave between two slopes, the tightest that the breakpoints on the way
allow: a running maximum and minimum over them give the range of values at every later speed at once. Which numbers of
nodes lead on to the end is kept as bits, and the bits of a range of values are taken together in two look-ups.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from timing.gridsearch.task import IntArray, Window
from timing.inputs import FloatArray

BitArray: TypeAlias = NDArray[np.uint64]


@dataclass(frozen=True, slots=True, eq=False)
class Reachable:
    """For every speed and value: with how many nodes, itself included, the curve can be led on to its end. As bits."""

    window: Window
    numbers: BitArray  # shape (P, K)

    @classmethod
    def within(cls, window: Window) -> Reachable:
        """What can be reached with the values of `window`."""
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
                own |= window.may_end(node).astype(np.uint64) << task.bit_of(1)
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
    def _onward(window: Window, ranges: BitArray, node: int, values: FloatArray) -> BitArray:
        """What each of `values` at `node` can reach at any next node."""
        others = window.task.next_nodes(node)
        low, high = window.reach(node, others, values)
        length = high - low + 1
        level = _LEVEL_OF[np.clip(length, 0, None)] if length.max(initial=0) < _LEVEL_OF.size else _levels(length)
        at = np.arange(others.start, others.stop)
        some = ranges[level, at, np.minimum(low, window.width - 1)] | ranges[level, at, high - (1 << level) + 1]
        some[length <= 0] = 0
        return np.asarray(np.bitwise_or.reduce(some, axis=1))

    def nodes_above(self, node: int) -> list[int]:
        """How many nodes there may be above `node`, with any of its values."""
        any_of = int(np.bitwise_or.reduce(self.numbers[node]))
        return [left for left in range(self.window.task.count) if any_of >> (left + 1) & 1]

    def starts(self) -> list[NDArray[np.bool_]]:
        """For each speed and value: whether a whole curve may begin there."""
        task, window = self.window.task, self.window
        asked = np.uint64(1) << task.bit_of(task.count)
        return [
            window.may_begin(node) & ((self.numbers[node, : window.size[node]] & asked) > 0)
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
