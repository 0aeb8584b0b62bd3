"""Where a log holds still: stretches in which neither speed nor vacuum wanders."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from timing.inputs import FloatArray, finite, within
from timing.roadlog.settings import USUAL, RoadLogError, RoadLogSettings


class Steady(NamedTuple):
    """A stretch in which the engine was held at one place of its map.

    Attributes
    ----------
    from_s, to_s : float
        When it begins and ends. [s]
    rpm : float
        Mean speed, each second counting alike. [rpm at the crank]
    vacuum : float
        Mean vacuum. [kPa below atmosphere]
    """

    from_s: float
    to_s: float
    rpm: float
    vacuum: float

    @property
    def seconds(self) -> float:
        """How long it lasts. [s]"""
        return self.to_s - self.from_s


class _Second(NamedTuple):
    """What was logged within one second."""

    rpm_low: float
    rpm_high: float
    rpm_mean: float
    vacuum_low: float
    vacuum_high: float
    vacuum_mean: float


def steady_stretches(
    t_s: ArrayLike, *, rpm: ArrayLike, vacuum: ArrayLike, settings: RoadLogSettings = USUAL
) -> tuple[Steady, ...]:
    """Stretches of `steady_s` or longer in which speed and vacuum stay within `steady_rpm` and `steady_kpa`.

    The log is looked at second by second: a second joins the stretch before it if lowest and highest of the whole stay
    within the limits (common practice, no source). A second without a sample is bridged as far as `longest_gap_s`
    goes, and a longer gap ends a stretch, as does a speed below `lowest_rpm`.

    Parameters
    ----------
    t_s : array, shape (k,)
        Time of each sample, never falling. [s]
    rpm, vacuum : array, shape (k,)
        [rpm at the crank], [kPa below atmosphere]
    settings : RoadLogSettings
        The limits.

    Returns
    -------
    tuple of Steady
        In the order of time.

    Raises
    ------
    RoadLogError
        If the columns differ in length or the time runs backwards.
    TimingError
        If a figure is not finite, or a speed is negative.
    """
    times = finite(t_s, "the time")
    speeds, vacua = within(rpm, "the speed", low=0.0, unit="rpm"), finite(vacuum, "the vacuum")
    if not times.shape == speeds.shape == vacua.shape:
        raise RoadLogError("the log's columns differ in length")
    if times.size < 2:
        return ()
    if (np.diff(times) < 0.0).any():
        raise RoadLogError("the log's time runs backwards")
    second = np.floor(times - times[0]).astype(np.int64)
    starts = np.flatnonzero(np.diff(second, prepend=-1))
    columns = [*_of_each_second(speeds, starts), *_of_each_second(vacua, starts)]
    seconds = [_Second(*figures) for figures in np.stack(columns, axis=1).tolist()]
    return tuple(_joined(seconds, second[starts].tolist(), float(times[0]), settings))


def _of_each_second(figures: FloatArray, starts: np.ndarray) -> tuple[FloatArray, FloatArray, FloatArray]:
    counts = np.diff(starts, append=figures.size)
    mean = np.add.reduceat(figures, starts) / counts
    return np.minimum.reduceat(figures, starts), np.maximum.reduceat(figures, starts), mean


def _joined(seconds: list[_Second], at: list[int], begun_s: float, settings: RoadLogSettings) -> list[Steady]:
    found: list[Steady] = []
    held: list[_Second] = []
    since = last = 0
    low_rpm = high_rpm = low_kpa = high_kpa = 0.0

    def end() -> None:
        if held and last + 1 - since >= settings.steady_s:
            rpm = sum(one.rpm_mean for one in held) / len(held)
            vacuum = sum(one.vacuum_mean for one in held) / len(held)
            found.append(Steady(begun_s + since, begun_s + last + 1, rpm, vacuum))
        held.clear()

    for when, one in zip(at, seconds, strict=True):
        if held:
            low, high = min(low_rpm, one.rpm_low), max(high_rpm, one.rpm_high)
            least, most = min(low_kpa, one.vacuum_low), max(high_kpa, one.vacuum_high)
            goes_on = (
                high - low <= settings.steady_rpm
                and most - least <= settings.steady_kpa
                and when - last <= 1 + settings.longest_gap_s
            )
            if goes_on:
                low_rpm, high_rpm, low_kpa, high_kpa, last = low, high, least, most, when
                held.append(one)
                continue
            end()
        fits_alone = (
            one.rpm_high - one.rpm_low <= settings.steady_rpm
            and one.vacuum_high - one.vacuum_low <= settings.steady_kpa
            and one.rpm_low >= settings.lowest_rpm
        )
        if fits_alone:
            low_rpm, high_rpm, low_kpa, high_kpa = one.rpm_low, one.rpm_high, one.vacuum_low, one.vacuum_high
            since = last = when
            held.append(one)
    end()
    return found
