"""What a strobe session shows: how late the spark is seen, how that changes with speed, and how sure one may be.

A reading's residual is the map's advance minus the measured advance, so a spark seen late is positive. Over speed
it splits into a constant angle (the unit's idea of dead centre is off: turn the distributor), a constant time (lag
of the unit or the lamp: an angle that grows with speed) and, if the old mechanism still moves, a share of its old
advance curve. What follows from the figures is said by `timing.strobe.verdict.judge`.

The scale has a step, and counts: readings to whole degrees that agree exactly are still known to half a degree only.
Every interval here is that of `timing.regression.LeastSquares.mean_at`, with the step of the scale.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple, Protocol, runtime_checkable

import numpy as np
from numpy.typing import ArrayLike

from timing.crank import crank_from_distributor
from timing.inputs import FloatArray, FloatOrArray, number, same_shape_as_asked, whole, within
from timing.regression import LeastSquares, condition_number, least_squares
from timing.strobe.limits import DEFAULT_LIMITS, StrobeLimits
from timing.strobe.outlier import Outlier, outlier_from_fit
from timing.strobe.readings import (
    HIGHEST_RPM,
    StrobeError,
    checked_advance,
    checked_mark_error,
    checked_readings,
    refuse_other_length,
    step_of_scale,
)
from timing.tolerance import exceeds, falls_short

_US_PER_S = 1e6
_DEG_PER_S_AND_RPM = 6.0


@runtime_checkable
class SpeedCurve(Protocol):
    """Anything that knows its advance at a speed, such as `timing.curve.AdvanceCurve`."""

    def advance(self, rpm: ArrayLike) -> FloatOrArray:
        """Advance at `rpm`. [degrees of crank]"""


class MeanError(NamedTuple):
    """How late the spark is on average, and between which bounds that mean lies. [degrees of crank, late positive]"""

    mean_deg: FloatOrArray
    low_deg: FloatOrArray
    high_deg: FloatOrArray

    @property
    def half_width_deg(self) -> FloatOrArray:
        """Half the width of the interval. [degrees of crank]"""
        return same_shape_as_asked((np.asarray(self.high_deg) - np.asarray(self.low_deg)) / 2.0)


@dataclass(frozen=True, slots=True)
class StrobeFit:
    """Strobe readings against their map, made by `fit_readings`.

    Every figure that the readings cannot give is None, and the matching `..._unknown` says why.

    Attributes
    ----------
    rpm : tuple of float
        Speeds in the order given. [rpm at the crank]
    residuals : tuple of float
        Map minus measured. [degrees of crank, late positive]
    old_curve : tuple of float or None
        The old centrifugal advance at each reading. [degrees of crank]
    tolerance : float
        Largest error the workshop accepts. [degrees of crank]
    mark_error_deg : float or None
        By how much the timing mark disagrees with the piston stop. [degrees of crank]
    crank_turns : float
        Crank turns for one turn of the distributor.
    step_deg : float
        The step to which the scale was read. [degrees of crank]
    limits : StrobeLimits
        What the workshop asks of a session.
    """

    rpm: tuple[float, ...]
    residuals: tuple[float, ...]
    old_curve: tuple[float, ...] | None
    tolerance: float
    mark_error_deg: float | None
    crank_turns: float
    step_deg: float
    limits: StrobeLimits
    constant: LeastSquares = field(repr=False)
    line: LeastSquares | None = field(repr=False)
    with_shape: LeastSquares | None = field(repr=False)
    shape_unknown: str | None

    @property
    def span_rpm(self) -> float:
        """From the lowest to the highest speed read. [rpm at the crank]"""
        return max(self.rpm) - min(self.rpm)

    @property
    def at_one_speed(self) -> bool:
        """Whether all readings count as taken at one speed: then nothing is known of a change with speed."""
        return not exceeds(self.span_rpm, self.limits.same_speed_rpm)

    @property
    def mean_deg(self) -> float:
        """Mean of all residuals. [degrees of crank, late positive]"""
        return self.constant.coefficients[0]

    @property
    def mean_interval(self) -> tuple[float, float] | None:
        """Interval of `mean_deg`, taking the error as the same at every speed; None for a single reading."""
        return self.constant.interval(0, self.limits.confidence)

    @property
    def sync_deg(self) -> float | None:
        """The part that is the same angle at every speed. [degrees of crank, late positive]

        None with fewer than three readings or at a single speed: it then cannot be told from a lag.
        """
        return None if self.line is None else self.line.coefficients[0]

    @property
    def sync_interval(self) -> tuple[float, float] | None:
        """Lowest and highest likely `sync_deg`. [degrees of crank]"""
        return None if self.line is None else self.line.interval(0, self.limits.confidence)

    @property
    def lag_us(self) -> float | None:
        """The part that is the same time at every speed; late is positive. [microseconds]

        None below `least_lag_readings` readings or `least_span_rpm` of speed: see `lag_unknown`.
        """
        return None if self.line is None or self.lag_unknown else self.line.coefficients[1] * _US_PER_S

    @property
    def lag_interval(self) -> tuple[float, float] | None:
        """Lowest and highest likely `lag_us`. [microseconds]"""
        return None if self.lag_unknown else self.lag_interval_of_line

    @property
    def lag_interval_of_line(self) -> tuple[float, float] | None:
        """As `lag_interval`, also where there are too few readings to report it. [microseconds]"""
        interval = None if self.line is None else self.line.interval(1, self.limits.confidence)
        return None if interval is None else (interval[0] * _US_PER_S, interval[1] * _US_PER_S)

    @property
    def lag_unknown(self) -> str | None:
        """Why no lag is given, or None where it is."""
        limits = self.limits
        if self.at_one_speed:
            return "all readings are at one speed, so a delay cannot be told from a fixed offset"
        if len(self.rpm) < limits.least_lag_readings:
            return f"a delay needs {limits.least_lag_readings} readings or more, there are {len(self.rpm)}"
        if falls_short(self.span_rpm, limits.least_span_rpm):
            return (
                f"a delay needs readings {limits.least_span_rpm:.0f} rpm or more apart, "
                f"these are {self.span_rpm:.0f} rpm apart"
            )
        return None

    @property
    def scatter_deg(self) -> float | None:
        """Standard deviation about the line, at a single speed about the mean. [degrees of crank]

        None where no reading is to spare for it.
        """
        fit = self.constant if self.at_one_speed else self.line
        return None if fit is None else fit.residual_sd

    @property
    def shape(self) -> float | None:
        """Coefficient of the old centrifugal curve: 0 locked, -1 wholly free. See `shape_unknown` for None."""
        return None if self.with_shape is None else self.with_shape.coefficients[2]

    @property
    def shape_interval(self) -> tuple[float, float] | None:
        """Lowest and highest likely `shape`."""
        return None if self.with_shape is None else self.with_shape.interval(2, self.limits.confidence)

    @property
    def outlier(self) -> Outlier | None:
        """The one reading that the line of the others contradicts, if there is one; at one speed, their mean."""
        fit = self.constant if self.at_one_speed else self.line
        if fit is None:
            return None
        return outlier_from_fit(fit, rpm=self.rpm, residuals=self.residuals, limits=self.limits)

    def without(self, index: int) -> StrobeFit:
        """The fit of all readings but number `index`, counted from 0.

        Raises
        ------
        StrobeError
            If there is no such reading, or no other.
        """
        at = whole(index, "the number of a reading", low=0)
        if at >= len(self.rpm):
            raise StrobeError(f"there is no reading number {at}, only {len(self.rpm)} readings")
        if len(self.rpm) == 1:
            raise StrobeError("without its only reading a session shows nothing")
        keep = [other for other in range(len(self.rpm)) if other != at]
        return _fitted(
            np.array(self.rpm)[keep],
            np.array(self.residuals)[keep],
            None if self.old_curve is None else np.array(self.old_curve)[keep],
            self.tolerance,
            self.mark_error_deg,
            self.crank_turns,
            self.step_deg,
            self.limits,
        )

    def mean_at(self, rpm: ArrayLike) -> MeanError:
        """How late the spark is on average at `rpm`, with the interval of that mean.

        Beyond the speeds read it is an extrapolation, and the interval says so by its width.

        Parameters
        ----------
        rpm : float or array
            Engine speed, 0 to 30 000. [rpm at the crank]

        Returns
        -------
        MeanError
            Floats for a scalar, arrays of the same shape for an array.

        Raises
        ------
        StrobeError
            If the readings are all at one speed and `rpm` is another, or there are too few for an interval.
        TimingError
            If a speed is negative or not a finite number.
        """
        speeds = within(rpm, "engine speed", low=0.0, high=HIGHEST_RPM, unit="rpm")
        confidence = self.limits.confidence
        if self.line is not None:
            estimate = self.line.mean_at(1.0, _DEG_PER_S_AND_RPM * speeds, confidence=confidence)
        elif self.at_one_speed and self.constant.df > 0:
            for speed in speeds.flat:
                if exceeds(max(min(self.rpm) - speed, speed - max(self.rpm)), self.limits.same_speed_rpm):
                    raise StrobeError(
                        f"all readings are at {self.rpm[0]:g} rpm: nothing can be said about {speed:g} rpm"
                    )
            estimate = self.constant.mean_at(np.ones_like(speeds), confidence=confidence)
        else:
            fewest = 2 if self.at_one_speed else 3
            raise StrobeError(f"the mean error needs {fewest} readings or more, there are {len(self.rpm)}")
        mean, half = np.asarray(estimate.mean), np.asarray(estimate.half_width)
        return MeanError(*(same_shape_as_asked(np.asarray(part)) for part in (mean, mean - half, mean + half)))


def fit_readings(
    *,
    rpm: ArrayLike,
    measured: ArrayLike,
    expected: ArrayLike,
    old_curve: SpeedCurve | ArrayLike | None = None,
    tolerance: float = 1.0,
    mark_error_deg: float | None = None,
    strokes: int = 4,
    limits: StrobeLimits = DEFAULT_LIMITS,
) -> StrobeFit:
    """Compare strobe readings with the map, and say what they prove.

    Parameters
    ----------
    rpm : array, shape (n,)
        Engine speeds, above 0, in any order, at least one. [rpm at the crank]
    measured : array, shape (n,)
        Advance read with the strobe. [degrees of crank before top dead centre]
    expected : float or array of shape (n,)
        Advance of the map at that speed and vacuum, base timing included. [degrees of crank]
    old_curve : AdvanceCurve or array of shape (n,), optional
        The distributor's own centrifugal advance, as found or from the factory's data, or its value at each
        reading. With it a mechanism that still moves can be told from a lag. [degrees of crank]
    tolerance : float
        Largest error accepted, above 0. [degrees of crank]
    mark_error_deg : float, optional
        By how much the timing mark disagrees with the piston stop, if that was measured. [degrees of crank]
    strokes : int
        4: the distributor turns at half the crank's speed. 2: at the crank's speed.
    limits : StrobeLimits
        What the workshop asks of a session.

    Returns
    -------
    StrobeFit
        What the readings show; `timing.strobe.judge` says what follows from it.

    Raises
    ------
    StrobeError
        If lists differ in length, or there is no reading.
    TimingError
        If a figure is not finite or out of its range.

    Notes
    -----
    residual = sync + lag * 6 rpm (+ shape * old curve) + error, by ordinary least squares.
    The angle turned in a second is 6 degrees for each rpm, so lag comes out in seconds.

    References
    ----------
    Draper and Smith, Applied Regression Analysis, chapters 1 and 2 (from memory); for the intervals see
    `timing.regression.LeastSquares.mean_at`.
    """
    speeds, seen = checked_readings(rpm, measured)
    target = checked_advance(expected, "an expected advance")
    if target.ndim:
        refuse_other_length(speeds, target, "expected advances")
    return _fitted(
        speeds,
        target - seen,
        _old_advance(old_curve, speeds),
        number(tolerance, "the tolerance", above=0.0, unit="degrees"),
        checked_mark_error(mark_error_deg),
        float(crank_from_distributor(1.0, strokes)),
        step_of_scale(seen, limits.scale_step_deg),
        limits,
    )


def _old_advance(old_curve: SpeedCurve | ArrayLike | None, speeds: FloatArray) -> FloatArray | None:
    if old_curve is None:
        return None
    given = old_curve.advance(speeds) if isinstance(old_curve, SpeedCurve) else old_curve
    old = checked_advance(given, "an old advance")
    refuse_other_length(speeds, old, "old advances")
    return old


def _fitted(
    speeds: FloatArray,
    residuals: FloatArray,
    old: FloatArray | None,
    tolerance: float,
    mark_error_deg: float | None,
    crank_turns: float,
    step: float,
    limits: StrobeLimits,
) -> StrobeFit:
    ones, turned = np.ones_like(speeds), _DEG_PER_S_AND_RPM * speeds
    line = None
    if speeds.size >= 3 and exceeds(float(np.ptp(speeds)), limits.same_speed_rpm):
        line = least_squares([ones, turned], residuals, step=step)
    unknown = _why_no_shape(speeds, old, limits)
    return StrobeFit(
        rpm=tuple(speeds.tolist()),
        residuals=tuple(residuals.tolist()),
        old_curve=None if old is None else tuple(old.tolist()),
        tolerance=tolerance,
        mark_error_deg=mark_error_deg,
        crank_turns=crank_turns,
        step_deg=step,
        limits=limits,
        constant=least_squares([ones], residuals, step=step),
        line=line,
        with_shape=None if unknown or old is None else least_squares([ones, turned, old], residuals, step=step),
        shape_unknown=unknown,
    )


def _why_no_shape(speeds: FloatArray, old: FloatArray | None, limits: StrobeLimits) -> str | None:
    if old is None:
        return "the old advance curve is not known"
    if speeds.size < limits.least_shape_readings:
        return f"the test against the old curve needs {limits.least_shape_readings} readings, there are {speeds.size}"
    columns = [np.ones_like(speeds), _DEG_PER_S_AND_RPM * speeds, old]
    if exceeds(condition_number(columns, speeds.size), limits.shape_condition):
        return "over these speeds the old curve is too nearly a straight line"
    return None
