"""One map in the middle of several: something to start from, not a map that any car has."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap
from timing.inputs import number
from timing.spread.band import advance_band
from timing.spread.sample import FEWEST
from timing.vacuum import VacuumRamp


def middle_map(maps: Sequence[IgnitionMap], *, base_deg: float, rpm: ArrayLike) -> IgnitionMap | None:
    """A map on another base timing whose total advance, wide open, is the median of `maps`; None below three maps.

    What is counted is the spark, not the curve: a car with four degrees more base gets four degrees less of curve. The
    curve never goes below the base timing, for few units can. The vacuum part is a ramp of the medians of the ramps,
    where more than half of the maps have one and there are three of them; else there is none. Dwell, rev limit and
    trigger belong to a car and are left open.

    Parameters
    ----------
    maps : sequence of IgnitionMap
        One a car, as its unit delivers it.
    base_deg : float
        Base timing of the car it is for. [degrees of crank before top dead centre]
    rpm : array of shape (m,)
        Speeds of the nodes, rising; those at which fewer than three maps speak are left out. [rpm at the crank]

    Returns
    -------
    IgnitionMap or None
        None where nothing can be said.

    Raises
    ------
    TimingError
        If a figure is not finite, or the speeds do not rise.
    """
    base = number(base_deg, "the base timing", unit="degrees")
    band = advance_band(maps, rpm=rpm)
    told = band.speaks
    if not told.any():
        return None
    degrees = np.round(np.maximum(band.median[told] - base, 0.0), 2)
    return IgnitionMap(base, AdvanceCurve(band.at[told], degrees), _middle_ramp(maps))


def _middle_ramp(maps: Sequence[IgnitionMap]) -> VacuumRamp | None:
    ramps = [one.vacuum for one in maps if isinstance(one.vacuum, VacuumRamp) and one.vacuum.full_deg > 0]
    if len(ramps) < FEWEST or 2 * len(ramps) <= len(maps):
        return None
    # The median of the ends, each for itself, still rises: every ramp's start lies below its own end.
    figures = np.median([(ramp.start, ramp.full, ramp.full_deg, ramp.from_rpm) for ramp in ramps], axis=0)
    return VacuumRamp(*figures.tolist())
