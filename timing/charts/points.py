"""The points a chart is given, checked: curves, bands and scattered readings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from timing import inputs
from timing.charts.errors import ChartError
from timing.charts.scale import Point
from timing.curve import AdvanceCurve
from timing.distributor import FactoryBand
from timing.vacuum import VacuumRamp

Triple: TypeAlias = tuple[float, float, float]
Rows: TypeAlias = Iterable[Sequence[float]] | inputs.FloatArray | AdvanceCurve | VacuumRamp
Band: TypeAlias = Iterable[Sequence[float]] | inputs.FloatArray | FactoryBand


def pairs(points: Rows, what: str) -> tuple[Point, ...]:
    """`points` as pairs of floats.

    Parameters
    ----------
    points : sequence of (across, up), array of shape (n, 2), AdvanceCurve or VacuumRamp
        Places in the units of the axes; of a curve its nodes, of a ramp its two ends.
    what : str
        What they are, for a refusal.

    Returns
    -------
    tuple of (float, float)
        Empty for none.

    Raises
    ------
    TimingError
        If they are no pairs of finite numbers; the message names `what`.
    """
    rows = inputs.finite(listed(points, what), what)
    if rows.size == 0:
        return ()
    if rows.ndim != 2 or rows.shape[1] != 2:
        raise ChartError(f"{what} must be pairs of figures")
    return tuple((float(x), float(y)) for x, y in rows)


def curve(points: Rows, what: str) -> tuple[Point, ...]:
    """`points` as a curve: pairs whose first figure rises.

    Parameters
    ----------
    points, what
        As for `pairs`.

    Returns
    -------
    tuple of (float, float)
        Empty for none.

    Raises
    ------
    TimingError
        As `pairs`, and if the first figures do not rise strictly.
    """
    checked = pairs(points, what)
    for (x, _), (following, _) in pairwise(checked):
        if following <= x:
            raise ChartError(f"{what} must rise along the axis, but {following:g} follows {x:g}")
    return checked


def triples(rows: Band, what: str) -> tuple[Triple, ...]:
    """`rows` as (place, low, high), rising, low at most high.

    Parameters
    ----------
    rows : sequence of (place, low, high), array of shape (n, 3), or FactoryBand
        In the units of the axes.
    what : str
        What they are, for a refusal.

    Returns
    -------
    tuple of (float, float, float)
        Empty for none.

    Raises
    ------
    TimingError
        If they are not; the message names `what`.
    """
    if isinstance(rows, FactoryBand):
        return band_rows(rows)
    figures = inputs.finite(listed(rows, what), what)
    if figures.size == 0:
        return ()
    if figures.ndim != 2 or figures.shape[1] != 3:
        raise ChartError(f"{what} must be rows of a place, a lowest and a highest figure")
    checked = tuple((float(x), float(low), float(high)) for x, low, high in figures)
    curve([(x, low) for x, low, _ in checked], what)
    for x, low, high in checked:
        if low > high:
            raise ChartError(f"{what} has its lowest {low:g} above its highest {high:g} at {x:g}")
    return checked


def band_rows(band: FactoryBand, base: float = 0.0) -> tuple[Triple, ...]:
    """The rows of a factory band as a chart takes them.

    Parameters
    ----------
    band : FactoryBand
        The band, in crank units.
    base : float
        Added everywhere, for sweeps counted from top dead centre. [degrees of crank]

    Returns
    -------
    tuple of (rpm, lowest, highest)
        One row for each node of either edge. [rpm at the crank, degrees of crank]

    Raises
    ------
    TimingError
        If `base` is not a finite number.
    """
    added = inputs.number(base, "base timing")
    speeds = sorted({*band.lower.rpm, *band.upper.rpm})
    return tuple(
        (float(rpm), added + float(band.lower.advance(rpm)), added + float(band.upper.advance(rpm))) for rpm in speeds
    )


def optional(value: float | None, what: str, *, low: float | None = None, unit: str = "") -> float | None:
    """A figure that may be left out.

    Parameters
    ----------
    value : float or None
        The figure.
    what, low, unit
        As for `timing.inputs.number`.

    Returns
    -------
    float or None
        The figure, None if it was left out.

    Raises
    ------
    TimingError
        If it is no finite number, or below `low`.
    """
    return None if value is None else inputs.number(value, what, low=low, unit=unit)


def axis_ends(limits: Sequence[float] | None, what: str) -> tuple[float, float] | None:
    """The two ends of an axis, or None where they are left to the drawing.

    Parameters
    ----------
    limits : (low, high) or None
        In the unit of the axis.
    what : str
        What they are, for a refusal.

    Returns
    -------
    (float, float) or None
        The ends.

    Raises
    ------
    TimingError
        If there are not two finite numbers.
    """
    if limits is None:
        return None
    pair = inputs.finite(limits, what)
    if pair.shape != (2,):
        raise ChartError(f"{what} must be two figures, the lower and the upper")
    return float(pair[0]), float(pair[1])


def extended(points: Sequence[Point], *, low: float, high: float) -> list[Point]:
    """`points` with their end values carried on to `low` and `high`, as a curve is held beyond its ends.

    Parameters
    ----------
    points : sequence of (across, up)
        At least one, rising across.
    low, high : float
        The ends of the axis across.

    Returns
    -------
    list of (float, float)
        The points, and the ends where they lie outside them.
    """
    first, last = points[0], points[-1]
    before = [(low, first[1])] if low < first[0] else []
    after = [(high, last[1])] if high > last[0] else []
    return [*before, *points, *after]


def value_at(points: Sequence[Point], across: float) -> float:
    """Value of a curve, its ends held.

    Parameters
    ----------
    points : sequence of (across, up)
        At least one, rising across.
    across : float
        Where.

    Returns
    -------
    float
        In the unit of the upward axis.
    """
    return float(np.interp(across, [x for x, _ in points], [y for _, y in points]))


def listed(points: Rows | Band, what: str) -> ArrayLike:
    """`points` as rows of figures, not checked yet.

    Parameters
    ----------
    points : sequence of rows, array, AdvanceCurve or VacuumRamp
        Of a curve its nodes, of a ramp its two ends.
    what : str
        What they are, for a refusal.

    Returns
    -------
    list or array
        For `inputs.finite` to check.

    Raises
    ------
    ChartError
        If they are no rows at all.
    """
    if isinstance(points, AdvanceCurve):
        return list(zip(points.rpm, points.degrees, strict=True))
    if isinstance(points, VacuumRamp):
        return [(points.start, 0.0), (points.full, points.full_deg)]
    if isinstance(points, np.ndarray):
        return points
    is_rows = isinstance(points, Iterable) and not isinstance(points, str | bytes)
    if not is_rows or isinstance(points, FactoryBand) or hasattr(points, "__array__"):
        raise ChartError(f"{what} must be a list of points")
    return list(points)
