"""Occupancy of a long road log, side by side with numpy's two-dimensional histogram of the same samples.

Run as `python -m tests.bench.bench_occupancy`. Both do the same work on the same log: from the times of the samples
how long each counts, and how much of that falls into each cell; in the second pair also the mean advance there, for
which the histogram has to be taken twice. What only `occupancy` does besides, refusing bad samples and dropping slow
ones, is in its time too.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from timing.roadlog import Grid, Occupancy, RoadLogSettings, occupancy

SAMPLES = 1_000_000
ROUNDS = 9
GRID = Grid(
    rpm=[500, 800, 1000, 1200, 1500, 1800, 2200, 2600, 3000, 3500, 4000, 4800, 5600, 6500],
    vacuum=[0, 10, 20, 30, 40, 50, 60, 70],
)


def drive(seed: int = 20) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """A log as a logger would write it, invented: ten samples a second, speed and vacuum wandering, with noise."""
    rng = np.random.default_rng(seed)
    t_s = np.cumsum(rng.uniform(0.08, 0.12, SAMPLES))
    wander = np.cumsum(rng.normal(0.0, 25.0, SAMPLES))
    rpm = 900.0 + np.abs((wander + 4000.0) % 10000.0 - 5000.0) + rng.normal(0.0, 15.0, SAMPLES)
    vacuum = 35.0 + 30.0 * np.sin(np.cumsum(rng.normal(0.0, 0.05, SAMPLES))) + rng.normal(0.0, 2.0, SAMPLES)
    advance = np.round(8.0 + rpm / 250.0 + vacuum / 5.0, 1)
    return t_s, np.maximum(rpm, 450.0), vacuum, advance


def best(jobs: dict[str, Callable[[], object]]) -> dict[str, float]:
    """Best time of each job, taken in turns so that a busy moment of the machine hits all of them. [ms]"""
    times: dict[str, list[float]] = {name: [] for name in jobs}
    for _ in range(ROUNDS):
        for name, job in jobs.items():
            begun = time.perf_counter()
            job()
            times[name].append(1000.0 * (time.perf_counter() - begun))
    return {name: min(taken) for name, taken in times.items()}


def main() -> None:
    t_s, rpm, vacuum, advance = drive()
    across, up = GRID.edges()
    edges = [np.concatenate(([-np.inf], inner, [np.inf])) for inner in (up, across)]

    def held_s() -> np.ndarray:
        return np.append(np.minimum(np.diff(t_s), RoadLogSettings().longest_gap_s), 0.0)

    def histogram(weights: np.ndarray) -> np.ndarray:
        return np.histogram2d(vacuum, rpm, bins=edges, weights=weights)[0]

    def histogram_mean() -> np.ndarray:
        held = held_s()
        return histogram(held * advance) / np.maximum(histogram(held), 1e-300)

    def ours(with_advance: bool) -> Occupancy:
        return occupancy(GRID, t_s, rpm, vacuum, advance if with_advance else None)

    result = ours(True)
    assert np.allclose(result.seconds, histogram(held_s()), rtol=1e-12, atol=1e-9)
    assert np.allclose(result.mean_advance.filled(0.0), histogram_mean(), rtol=1e-9)
    # Equal samples a second each: then seconds are counts, and counts must be equal to the last one.
    counted = occupancy(GRID, np.arange(SAMPLES, dtype=np.float64), rpm, vacuum).seconds
    whole = np.histogram2d(vacuum[:-1], rpm[:-1], bins=edges)[0]
    assert np.array_equal(counted, whole)

    taken = best(
        {
            "histogram2d, time": lambda: histogram(held_s()),
            "occupancy, time": lambda: ours(False),
            "histogram2d, time and mean advance": histogram_mean,
            "occupancy, time and mean advance": lambda: ours(True),
        }
    )
    rows, columns = GRID.shape
    print(f"{SAMPLES:,} samples, {rows} x {columns} cells, best of {ROUNDS}; counts equal in every cell")
    for name, milliseconds in taken.items():
        print(f"  {name:<36}{milliseconds:9.2f} ms")
    for what in ("time", "time and mean advance"):
        ratio = taken[f"histogram2d, {what}"] / taken[f"occupancy, {what}"]
        print(f"  occupancy is {ratio:.1f} times as fast for {what}")


if __name__ == "__main__":
    main()
