"""The smallest largest error, and the best of all settings that have it."""

from __future__ import annotations

import math

import numpy as np

from timing.curve import AdvanceCurve
from timing.grid import SAME, DegreeSteps, GridFitError
from timing.gridsearch.reachable import Reachable
from timing.gridsearch.squares import BLOCK, least_squares_within
from timing.gridsearch.task import Bounds, Task, Window, impossible, slack, too_large
from timing.inputs import FloatArray

_MOST_SPEEDS = 2000
_MOST_FREE_NODES = 60  # as many as there are bits to tell their number, and far more than any unit has


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
        raise GridFitError(too_large(raster, steps))
    task = Task.of(target, raster, count, steps, bounds)
    _refuse_node_without_value(task)
    find = _least_error_of_set_nodes if task.every_node_is_set else _least_error_of_free_nodes
    return least_squares_within(task, find(task))


def _least_error_of_free_nodes(task: Task) -> float:
    """The smallest largest error that any choice of nodes has. [degrees]"""
    furthest = task.furthest()
    tried = min(task.steps.step / 2, furthest)
    refused = 0.0
    while True:
        found = Reachable.within(Window.of(task, tried)).error_of_one()
        if found is not None:
            break
        if tried >= furthest:
            raise GridFitError(_why_impossible(task))
        refused, tried = tried, min(3 * tried, furthest)
    best = found
    near = True
    # An error once reached is only bettered by another setting: where the two are close, the next try is often the
    # last. A window is wider than asked by the noise of arithmetic, hence three times that.
    while best - refused > 4 * slack(best):
        near = not near and best - refused < task.steps.step / 4
        tried = best - 3 * slack(best) if near else (best + refused) / 2
        found = Reachable.within(Window.of(task, tried)).error_of_one()
        if found is not None and found < best:
            best = found
        else:
            refused = tried
    return best


def _least_error_of_set_nodes(task: Task) -> float:
    """The smallest largest error that any values at all the speeds of the raster have. [degrees]"""
    bulge = np.abs(task.target_there - np.interp(task.points, task.raster, task.target)).max()
    reach = float(bulge) / 2 + task.steps.step
    while True:
        window = Window.of(task, reach)
        least = _least_error_within(window)
        # A node is itself a breakpoint: a value further than `reach` from the target there is a worse error.
        if least <= reach + slack(reach) or reach >= task.furthest():
            break
        reach = min(2 * reach, least)
    if math.isinf(least):
        raise GridFitError(_why_impossible(task))
    return least


def _least_error_within(window: Window) -> float:
    """The smallest largest error over all values of `window`, infinite if no setting stays within bounds. [degrees]"""
    task = window.task
    last = task.raster.size - 1
    outside = slice(int(task.points_up_to[last]), None)
    best = _held_error(task, window.values(last), outside)
    for node in reversed(range(last)):
        values, others = window.values(node)[:, np.newaxis], window.values(node + 1)
        inside = slice(int(task.points_up_to[node]), int(task.points_below[node + 1]))
        run = (task.points[inside] - task.raster[node]) / (task.raster[node + 1] - task.raster[node])
        worst = np.broadcast_to(np.abs(others - task.target[node + 1]), (values.size, others.size))
        length = max(1, BLOCK // max(1, worst.size))
        for start in range(0, run.size, length):
            block = slice(inside.start + start, min(inside.start + start + length, inside.stop))
            drawn = values[..., np.newaxis] + (others - values)[..., np.newaxis] * run[start : start + length]
            worst = np.maximum(worst, _error_there(task, drawn, block))
        best = np.maximum(worst, best).min(axis=1, initial=np.inf)
    first = window.values(0)
    own = np.maximum(np.abs(first - task.target[0]), _held_error(task, first, slice(int(task.points_below[0]))))
    return float(np.maximum(own, best).min(initial=np.inf))


def _held_error(task: Task, values: FloatArray, outside: slice) -> FloatArray:
    """The largest error of each value where it is held at the breakpoints `outside`. [degrees]"""
    count = task.points[outside].size
    return _error_there(task, np.repeat(values[:, np.newaxis], count, axis=1), outside)


def _error_there(task: Task, drawn: FloatArray, where: slice) -> FloatArray:
    """The largest error of what is drawn at the breakpoints `where`, along the last axis; infinite out of bounds."""
    worst = np.abs(drawn - task.target_there[where]).max(axis=-1, initial=0.0)
    out = (drawn < task.floor_there[where] - SAME) | (drawn > task.ceiling_there[where] + SAME)
    return np.asarray(np.where(out.any(axis=-1), np.inf, worst))


def _refuse_node_without_value(task: Task) -> None:
    if not task.every_node_is_set:
        return
    steps = task.steps
    for rpm, floor, ceiling in zip(task.raster, task.floor, task.ceiling, strict=True):
        if not steps.any_between(max(floor, steps.low), min(ceiling, steps.high)):
            least = f"{floor:.4g} to " if np.isfinite(floor) else "at most "
            raise GridFitError(
                f"{impossible(task)} at {rpm:g} rpm: that asks for {least}{ceiling:.4g} degrees, "
                f"and the unit holds {steps.low:g} to {steps.high:g} degrees in steps of {steps.step:g}"
            )


def _why_impossible(task: Task) -> str:
    """The sentence that says where no curve stays within the bounds."""
    numbers = Reachable.within(Window.of(task, task.furthest())).numbers
    possible_from = np.flatnonzero(numbers.any(axis=1))
    if not possible_from.size:
        return f"{impossible(task)} above its last node, where the value of that node is held"
    lowest = int(possible_from[0])
    if not lowest:
        return f"{impossible(task)} below its first node, where the value of that node is held"
    return (
        f"{impossible(task)} all the way: it can be done from {task.raster[lowest]:g} rpm upwards, "
        f"but not from {task.raster[lowest - 1]:g} rpm upwards"
    )
