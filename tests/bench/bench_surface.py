"""Look-up of the total advance along a log of 1,000,000 samples, beside scipy's interpolator on the same grid.

Run as `python -m tests.bench.bench_surface`. Prints ratios: how many times faster than scipy, best of several
interleaved rounds in this one run, and the largest difference from it; then runs of several lengths beside the one
that is set, for an hour at 20 Hz and for a million samples.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import numpy as np
from scipy.interpolate import RegularGridInterpolator

from timing import lookup
from timing.curve import AdvanceCurve
from timing.lookup import HeldGrid
from timing.surface import TotalAdvance
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

SAMPLES = 1_000_000
ROUNDS = 7
AN_HOUR_AT_20_HZ = 72_000
OTHER_RUNS = (8_192, 32_768, 65_536)

SPEEDS = [500.0, 800.0, 1000.0, 1400.0, 2200.0, 3500.0, 4500.0, 6000.0]
UNEVEN_SPEEDS = [503.7, 811.13, 1000.0, 1407.31, 2200.0, 3499.9, 4500.0, 6001.7]
DEGREES = [0.0, 1.0, 2.0, 9.0, 15.0, 22.0, 24.0, 24.0]
VACUA = [-60.0, -20.0, 0.0, 10.0, 25.0, 40.0, 60.0, 80.0]


def main() -> None:
    rng = np.random.default_rng(20261125)
    rpm = rng.uniform(0.0, 7000.0, SAMPLES)
    vacuum = rng.uniform(-70.0, 90.0, SAMPLES)

    curve, uneven = AdvanceCurve(SPEEDS, DEGREES), AdvanceCurve(UNEVEN_SPEEDS, DEGREES)
    boost = BoostRetard([0, 20, 60], [0, 3, 12])
    ramp = VacuumRamp(10, 40, 14)
    cells = np.outer(np.clip(np.array(VACUA) / 60, 0, 1), np.linspace(4, 16, len(SPEEDS)))
    surfaces = {
        "total advance, ramp": (TotalAdvance(10, curve, ramp), SPEEDS),
        "total advance, ramp and boost": (TotalAdvance(10, curve, ramp, boost), SPEEDS),
        "total advance, table": (TotalAdvance(10, curve, VacuumTable(rpm=SPEEDS, vacuum=VACUA, degrees=cells)), SPEEDS),
        "total advance, nodes on no raster": (TotalAdvance(10, uneven, ramp, boost), UNEVEN_SPEEDS),
    }
    for name, (surface, speeds) in surfaces.items():
        table = surface.table(rpm=speeds, vacuum=VACUA)
        compare(name, surface.advance, speeds, table, rpm, vacuum)
        if surface.vacuum is ramp:
            compare(
                f"  its table of {table.size} cells",
                HeldGrid(rpm=speeds, vacuum=VACUA, values=table).at,
                speeds,
                table,
                rpm,
                vacuum,
            )


def compare(
    name: str,
    ours: Callable[..., np.ndarray],
    speeds: list[float],
    table: np.ndarray,
    rpm: np.ndarray,
    vacuum: np.ndarray,
) -> None:
    """Print how `ours` stands beside scipy, which cannot hold the edges and is spared doing so in the timing."""
    scipy_grid = RegularGridInterpolator((VACUA, speeds), table)
    points = np.column_stack([np.clip(vacuum, VACUA[0], VACUA[-1]), np.clip(rpm, speeds[0], speeds[-1])])
    best_ours = best_scipy = np.inf
    for _ in range(ROUNDS):
        seconds, mine = timed(lambda: ours(rpm=rpm, vacuum=vacuum))
        best_ours = min(best_ours, seconds)
        seconds, theirs = timed(lambda: scipy_grid(points))
        best_scipy = min(best_scipy, seconds)
    apart = np.abs(mine - theirs).max()
    print(
        f"{name:38s} {best_scipy / best_ours:5.1f} times faster than scipy"
        f" ({best_ours * 1e3:5.1f} ms against {best_scipy * 1e3:5.1f} ms), largest difference {apart:.1e} degrees"
    )


def compare_runs() -> None:
    """Print the time of other lengths of run as a multiple of the one that is set, each in a process of its own.

    Whether memory is at hand depends on what the process did before, so that one process would favour the last.
    """
    for samples in (AN_HOUR_AT_20_HZ, SAMPLES, 10 * SAMPLES):
        best: dict[int, float] = {}
        for _ in range(3):
            for length in (lookup._RUN, *OTHER_RUNS):
                with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as fresh:
                    seconds = fresh.submit(best_in_runs, length, samples).result()
                best[length] = min(seconds, best.get(length, np.inf))
        beside = ", ".join(f"{length:,}: {best[length] / best[lookup._RUN]:.2f} x" for length in OTHER_RUNS)
        print(f"{samples:>10,} samples in runs of {lookup._RUN:,}: {best[lookup._RUN] * 1e3:6.2f} ms; {beside}")


def best_in_runs(length: int, samples: int) -> float:
    """Best time of several look-ups in runs of `length`. [s]"""
    lookup._RUN = length
    rng = np.random.default_rng(20261125)
    rpm, vacuum = rng.uniform(0.0, 7000.0, samples), rng.uniform(-70.0, 90.0, samples)
    surface = TotalAdvance(10, AdvanceCurve(SPEEDS, DEGREES), VacuumRamp(10, 40, 14), BoostRetard([0, 20], [0, 3]))
    return min(timed(lambda: surface.advance(rpm=rpm, vacuum=vacuum))[0] for _ in range(ROUNDS))


def timed(work: Callable[[], np.ndarray]) -> tuple[float, np.ndarray]:
    start = time.perf_counter()
    result = work()
    return time.perf_counter() - start, result


if __name__ == "__main__":
    main()
    compare_runs()
