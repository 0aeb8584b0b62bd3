"""The fit to a unit's grid, side by side with trying every setting, with scipy's mixed-integer programme, and, where
nodes are free, with dynamic programming as textbooks have it.

Run as `python -m tests.bench.bench_gridfit`. All look for the smallest largest error, and the run stops if they do not
find the same one. Trying every setting is given the same pruning as the fit (no value further from the target than
plain rounding errs) and is left out where it would still take millions of settings; none of the others settles ties,
which is in the time of the fit.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Callable

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from tests.timing.grid_judges import rounding
from timing.curve import AdvanceCurve
from timing.gridfit import fit_free, fit_to

ROUNDS = 7
MOST_SETTINGS = 3_000_000

# An invented curve with a knee between nodes, and the worked five nodes of handbook section 4.
KNEED = AdvanceCurve([500, 1000, 1400, 2200, 3500], [0, 2, 9, 15, 22])
FIVE = [500, 1000, 1500, 2500, 3500]
LONG = AdvanceCurve([500, 950, 1300, 1750, 2300, 2900, 3700, 4600, 6200], [0, 3, 9.5, 14, 18.2, 22, 25.5, 28, 28])
FOURTEEN = [500, 800, 1000, 1200, 1500, 1800, 2200, 2600, 3000, 3500, 4000, 4800, 5600, 6500]


def drawn_by(nodes: list[float], points: np.ndarray) -> np.ndarray:
    """How much of each node's value a curve through them has at each point."""
    return np.array([np.interp(points, nodes, unit) for unit in np.eye(len(nodes))]).T


def settings_within_rounding(target: AdvanceCurve, nodes: list[float], step: float) -> list[range]:
    reach = rounding(target, nodes, step) + 1e-9
    return [
        range(max(0, math.ceil((wanted - reach) / step)), math.floor((wanted + reach) / step) + 1)
        for wanted in target.advance(nodes)
    ]


def every_setting(target: AdvanceCurve, nodes: list[float], step: float) -> float:
    points = np.union1d(target.rpm, nodes)
    table, wanted = drawn_by(nodes, points).T * step, target.advance(points)
    settings = itertools.product(*settings_within_rounding(target, nodes, step))
    best = math.inf
    while block := list(itertools.islice(settings, 50_000)):
        errors = np.abs(np.array(block, dtype=float) @ table - wanted).max(axis=1)
        best = min(best, float(errors.min()))
    return best


def integer_programme(target: AdvanceCurve, nodes: list[float], step: float) -> float:
    points = np.union1d(target.rpm, nodes)
    table, wanted = drawn_by(nodes, points) * step, target.advance(points)
    ones = np.ones((points.size, 1))
    count = len(nodes)
    answer = milp(
        np.append(np.zeros(count), 1.0),
        integrality=np.append(np.ones(count), 0),
        bounds=Bounds(np.zeros(count + 1), np.append(np.full(count, math.floor(60 / step)), np.inf)),
        constraints=[
            LinearConstraint(np.hstack([table, -ones]), -np.inf, wanted),
            LinearConstraint(np.hstack([table, ones]), wanted, np.inf),
        ],
        options={"mip_rel_gap": 0.0},
    )
    return float(answer.fun)


def best_times(jobs: dict[str, Callable[[], float]]) -> dict[str, float]:
    """Best time of each job, taken in turns so that a busy moment of the machine hits all of them. [ms]"""
    times: dict[str, list[float]] = {name: [] for name in jobs}
    for _ in range(ROUNDS):
        for name, job in jobs.items():
            begun = time.perf_counter()
            job()
            times[name].append(1000.0 * (time.perf_counter() - begun))
    return {name: min(taken) for name, taken in times.items()}


def compare(name: str, target: AdvanceCurve, nodes: list[float], step: float) -> None:
    jobs: dict[str, Callable[[], float]] = {
        "fit": lambda: fit_to(target, nodes, step).worst_error,
        "integer programme": lambda: integer_programme(target, nodes, step),
    }
    settings = math.prod(len(values) for values in settings_within_rounding(target, nodes, step))
    if settings <= MOST_SETTINGS:
        jobs["every setting"] = lambda: every_setting(target, nodes, step)
    errors = {job: work() for job, work in jobs.items()}
    if max(errors.values()) - min(errors.values()) > 1e-6:
        raise SystemExit(f"{name}, step {step:g}: not the same error: {errors}")
    times = best_times(jobs)
    rounded = rounding(target, nodes, step)
    print(f"{name}, step {step:g}: worst error {errors['fit']:.3f} degrees, rounding each node {rounded:.3f}")
    for job, taken in times.items():
        print(f"  {job:<18} {taken:9.2f} ms  {taken / times['fit']:8.1f} x")
    if "every setting" not in jobs:
        print(f"  {'every setting':<18} not run: {settings:.1e} settings")


def table_of_all(target: AdvanceCurve, count: int, raster: list[float], step: float, reach: float) -> float:
    """The smallest largest error by dynamic programming over every pair of speeds and of values within `reach`."""
    points, degrees = np.array(target.rpm), np.array(target.degrees)
    values = [
        step * np.arange(max(0, math.ceil((at - reach) / step)), math.floor((at + reach) / step) + 1)
        for at in target.advance(raster)
    ]
    speeds = np.array(raster)
    best = [np.full((count, own.size), np.inf) for own in values]
    for node in reversed(range(len(raster))):
        own = values[node]
        outside = degrees[points >= speeds[node]]
        at_node = np.abs(own - target.advance(raster[node]))
        best[node][0] = np.maximum(at_node, np.abs(own[:, None] - outside).max(axis=1, initial=0.0))
        for other in range(node + 1, len(raster)):
            between = (points > speeds[node]) & (points < speeds[other])
            run = (points[between] - speeds[node]) / (speeds[other] - speeds[node])
            drawn = own[:, None, None] + (values[other][None, :, None] - own[:, None, None]) * run
            worst = np.maximum(np.abs(drawn - degrees[between]).max(axis=2, initial=0.0), at_node[:, None])
            for left in range(1, count):
                np.minimum(
                    best[node][left],
                    np.maximum(worst, best[other][left - 1]).min(axis=1, initial=np.inf),
                    out=best[node][left],
                )
    below = [
        np.maximum(own[-1], np.abs(values[node][:, None] - degrees[points <= speeds[node]]).max(axis=1, initial=0.0))
        for node, own in enumerate(best)
    ]
    return min(float(total.min(initial=np.inf)) for total in below)


def free_nodes() -> None:
    """Units whose nodes may stand anywhere on a raster, the hardest that is not refused last."""
    wavy = AdvanceCurve(np.linspace(300, 7000, 24), 12 + 10 * np.sin(np.arange(24) * 1.3) + np.arange(24) * 0.6)
    for name, target, count, raster, step in (
        ("8 on 250 rpm", LONG, 8, range(500, 6501, 250), 0.5),
        ("8 on 100 rpm", LONG, 8, range(500, 6501, 100), 0.5),
        ("4 on 50 rpm", LONG, 4, range(0, 8001, 50), 0.5),
        ("16 on 50 rpm", LONG, 16, range(0, 8001, 50), 0.1),
        ("4 on 50 rpm, a target no unit could follow", wavy, 4, range(0, 8001, 50), 1),
        ("8 on 100 rpm, the same", wavy, 8, range(0, 8001, 100), 0.25),
    ):
        speeds = [float(rpm) for rpm in raster]
        begun = time.process_time()
        error = fit_free(target, count, speeds, step).worst_error
        ours = time.process_time() - begun
        begun = time.process_time()
        expected = table_of_all(target, count, speeds, step, error + step)
        textbook = time.process_time() - begun
        if abs(error - expected) > 1e-6:
            raise SystemExit(f"{name}: not the same error: {error} and {expected}")
        print(
            f"{name}, step {step:g}: worst error {error:.3f}, {1000 * ours:7.1f} ms; dynamic programming told the "
            f"answer's reach {1000 * textbook:9.1f} ms, {textbook / ours:6.1f} x"
        )


def variants() -> None:
    """What the rules and free nodes cost, the plain fit being 1."""
    band = (LONG.shift(-1), LONG.shift(1))
    times = best_times(
        {
            "plain": lambda: fit_to(LONG, FOURTEEN, 0.5).worst_error,
            "never above": lambda: fit_to(LONG, FOURTEEN, 0.5, never_above=True).worst_error,
            "inside a band": lambda: fit_to(LONG, FOURTEEN, 0.5, within=band).worst_error,
            "8 free, 250 rpm": lambda: fit_free(LONG, 8, range(500, 6501, 250), 0.5).worst_error,
            "8 free, 100 rpm": lambda: fit_free(LONG, 8, range(500, 6501, 100), 0.5).worst_error,
        }
    )
    print("variants, step 0.5")
    for name, taken in times.items():
        print(f"  {name:<18} {taken:9.2f} ms  {taken / times['plain']:8.1f} x")


def main() -> None:
    for step in (1, 0.5, 0.1):
        compare("5 nodes", KNEED, FIVE, step)
    for step in (1, 0.5, 0.1):
        compare("14 nodes", LONG, FOURTEEN, step)
    variants()
    free_nodes()


if __name__ == "__main__":
    main()
