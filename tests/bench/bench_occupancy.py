"""Occupancy of a long road log, side by side with numpy's two-dimensional histogram of the same samples.

Run as `python -m tests.bench.bench_occupancy`. Both do the same work on the same log: from the times of the samples
how long each counts, and how much of that falls into each cell; in the second pair also the mean advance there, for
which the histogram has to be taken twice. What only `occupancy` does besides, refusing bad samples and dropping slow
ones, is in its time too.

The length of the runs that `occupancy` works in is tried side by side as well: on the long log in this process, and on
one hour at 20 samples a second in a fresh process each time, as a worker meets it that has just been started.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib import import_module
from unittest.mock import patch

import numpy as np

from timing.roadlog import Grid, Occupancy, RoadLogSettings, log, occupancy

# The function has the name of its module, and hides it in the package.
working = import_module("timing.roadlog.occupancy")

SAMPLES = 1_000_000
ROUNDS = 9
HOUR = 72_000
RUNS = (65_536, 15_000)
GRID = Grid(
    rpm=[500, 800, 1000, 1200, 1500, 1800, 2200, 2600, 3000, 3500, 4000, 4800, 5600, 6500],
    vacuum=[0, 10, 20, 30, 40, 50, 60, 70],
)


def drive(samples: int = SAMPLES, seed: int = 20) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """A log as a logger would write it, invented: ten samples a second, speed and vacuum wandering, with noise."""
    rng = np.random.default_rng(seed)
    t_s = np.cumsum(rng.uniform(0.08, 0.12, samples))
    wander = np.cumsum(rng.normal(0.0, 25.0, samples))
    rpm = 900.0 + np.abs((wander + 4000.0) % 10000.0 - 5000.0) + rng.normal(0.0, 15.0, samples)
    vacuum = 35.0 + 30.0 * np.sin(np.cumsum(rng.normal(0.0, 0.05, samples))) + rng.normal(0.0, 2.0, samples)
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
        return occupancy(GRID, t_s, rpm=rpm, vacuum=vacuum, advance=advance if with_advance else None)

    result = ours(True)
    assert np.allclose(result.seconds, histogram(held_s()), rtol=1e-12, atol=1e-9)
    assert np.allclose(result.mean_advance.filled(0.0), histogram_mean(), rtol=1e-9)
    # Equal samples a second each: then seconds are counts, and counts must be equal to the last one.
    counted = occupancy(GRID, np.arange(SAMPLES, dtype=np.float64), rpm=rpm, vacuum=vacuum).seconds
    whole = np.histogram2d(vacuum[:-1], rpm[:-1], bins=edges)[0]
    assert np.array_equal(counted, whole)

    def in_runs_of(samples: int) -> Callable[[], object]:
        """`occupancy` with time and mean advance, working on `samples` at once."""

        def job() -> None:
            with working_on(samples):
                ours(True)

        return job

    taken = best(
        {
            **{f"occupancy, runs of {samples:,}": in_runs_of(samples) for samples in RUNS},
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
    print("one hour at 20 samples a second, in a fresh process each: first call, second call, best of 5")
    fresh: dict[int, list[list[float]]] = {samples: [] for samples in RUNS}
    for _ in range(5):
        for samples in RUNS:
            command = [sys.executable, "-m", "tests.bench.bench_occupancy", str(samples)]
            said = subprocess.run(command, capture_output=True, text=True, check=True).stdout
            fresh[samples].append([float(figure) for figure in said.split()])
    for samples, pairs in fresh.items():
        first, second = (min(times) for times in zip(*pairs, strict=True))
        print(f"  occupancy, runs of {samples:<17,}{first:9.2f} ms{second:9.2f} ms")


@contextmanager
def working_on(samples: int) -> Iterator[None]:
    """Have `occupancy` work on `samples` at once."""
    with patch.object(log, "RUN", samples), patch.object(working, "RUN", samples):
        yield


def one_hour(samples: int) -> None:
    """Print the times of the first and the second call on an hour's log. [ms]"""
    columns = drive(HOUR)
    few = [column[:100] for column in columns]
    times = []
    with working_on(samples):
        occupancy(GRID, few[0], rpm=few[1], vacuum=few[2], advance=few[3])  # what is imported late is imported now
        for _ in range(2):
            begun = time.perf_counter()
            occupancy(GRID, columns[0], rpm=columns[1], vacuum=columns[2], advance=columns[3])
            times.append(1000.0 * (time.perf_counter() - begun))
    print(*times)


if __name__ == "__main__":
    if len(sys.argv) > 1:
        one_hour(int(sys.argv[1]))
    else:
        main()
