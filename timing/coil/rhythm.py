"""When a coil sparks: the crank angles from one of its sparks to the next."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from timing.coil.circuit import CoilError
from timing.crank import crank_from_distributor, firing_angle
from timing.inputs import FloatArray, within
from timing.tolerance import exceeds

# A coil of a wasted-spark ignition fires its two cylinders together, once in every turn of the crank.
_ONE_TURN_DEG = 360.0

# Intervals are written to a tenth of a degree: seven of 102.9 make 720.3.
_READ_TO_DEG = 0.05


def spark_intervals(
    cylinders: int, *, strokes: int = 4, intervals_deg: ArrayLike | None = None, wasted_spark: bool = False
) -> FloatArray:
    """Crank angles between the sparks of one coil, over a stretch that repeats itself.

    Parameters
    ----------
    cylinders : int
        Sparks the coil gives in one working cycle: the number of cylinders for one coil and a distributor.
    strokes : int
        4 or 2.
    intervals_deg : sequence of float, length n, optional
        Of an engine that fires unevenly, in order: a whole cycle of them, or the stretch that repeats. A narrow six
        may be given as (90, 150). [degrees of crank]
    wasted_spark : bool
        Whether each coil serves two cylinders and sparks once a turn, however the engine fires.

    Returns
    -------
    array, shape (n,)
        Above zero; one figure where the sparks come evenly. [degrees of crank]

    Raises
    ------
    CoilError
        If the intervals do not add up to whole cycles of the engine.
    TimingError
        If a figure is out of its range or not finite.

    Notes
    -----
    Derived: the mean interval is 720/N on a four-stroke, 360/N on a two-stroke.
    """
    mean_deg = float(firing_angle(cylinders, strokes))
    intervals = np.array([mean_deg])
    if intervals_deg is not None:
        intervals = np.atleast_1d(within(intervals_deg, "an interval between sparks", above=0.0, unit="degrees"))
        cycle_deg = 360.0 * float(crank_from_distributor(1.0, strokes))
        total_deg = float(intervals.sum())
        repeats = intervals.ndim == 1 and cylinders % intervals.size == 0
        if not repeats or exceeds(abs(total_deg - mean_deg * intervals.size), _READ_TO_DEG * intervals.size):
            listed = ", ".join(f"{interval:g}" for interval in intervals.flat)
            raise CoilError(
                f"intervals of {listed} degrees do not make up the {cycle_deg:g} degrees of {cylinders} sparks"
            )
    return np.array([_ONE_TURN_DEG]) if wasted_spark else intervals
