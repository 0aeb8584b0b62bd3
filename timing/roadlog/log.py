"""One road log: its columns, checked, and how long each sample counts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from timing.inputs import FloatArray, finite, within
from timing.roadlog.grid import Span
from timing.roadlog.settings import RoadLogError, RoadLogSettings

BoolArray: TypeAlias = NDArray[np.bool_]

# Samples worked on at once. A column of them is less than the 128 KiB from which the C library asks the system for
# fresh pages every time, and all columns stay in the processor's cache: measured in `tests.bench.bench_occupancy`.
RUN = 15_000


class Run(NamedTuple):
    """A stretch of a log.

    Attributes
    ----------
    at : slice
        Where it stands in the log.
    rpm, vacuum : array, shape (k,)
        [rpm at the crank], [kPa below atmosphere]
    counted_s : array, shape (k,)
        How long each sample counts. [s]
    gap_s : float
        Time beyond the longest gap, in which nobody knows what the engine did. [s]
    rpm_span, vacuum_span : Span
        The lowest and highest of each.
    slow, left_out : array of bool, shape (k,), or None
        Samples dropped for being slow, or by the caller; None when there are none.
    """

    at: slice
    rpm: FloatArray
    vacuum: FloatArray
    counted_s: FloatArray
    gap_s: float
    rpm_span: Span
    vacuum_span: Span
    slow: BoolArray | None
    left_out: BoolArray | None

    @property
    def dropped(self) -> BoolArray | None:
        """Samples that do not count, for whatever reason."""
        if self.slow is None or self.left_out is None:
            return self.left_out if self.slow is None else self.slow
        return self.slow | self.left_out


class Log:
    """The columns of one log.

    Parameters
    ----------
    t_s, rpm, vacuum : array, shape (k,)
        Time, speed and manifold vacuum. [s], [rpm at the crank], [kPa below atmosphere]
    leave_out : array of bool, shape (k,), or None
        Samples that are not to count.
    settings : RoadLogSettings
        Longest gap, lowest speed.

    Raises
    ------
    RoadLogError
        If the log is empty or its columns differ in length.
    """

    __slots__ = ("_leave_out", "_settings", "_vacuum", "rpm", "t_s")

    def __init__(
        self,
        t_s: ArrayLike,
        *,
        rpm: ArrayLike,
        vacuum: ArrayLike,
        leave_out: ArrayLike | None,
        settings: RoadLogSettings,
    ) -> None:
        self._settings = settings
        self.t_s = _column(t_s, "the time")
        if not self.t_s.size:
            raise RoadLogError("the log holds no samples")
        self.rpm = self.column(rpm, "the speed")
        self._vacuum = self.column(vacuum, "the vacuum")
        self._leave_out: BoolArray | None = None
        if leave_out is not None:
            flags = np.asarray(leave_out)
            if flags.dtype != np.bool_ or flags.shape != self.t_s.shape:
                raise RoadLogError("what is left out must be a yes or a no for each sample of the log")
            self._leave_out = flags

    def column(self, value: ArrayLike, label: str) -> FloatArray:
        """`value` as one figure for each sample, not yet looked at one by one.

        Parameters
        ----------
        value : array, shape (k,)
            As long as the time of the log.
        label : str
            What it is, for a refusal.

        Returns
        -------
        array, shape (k,)
            The same array where it is one of float64 already.

        Raises
        ------
        RoadLogError
            If it is of another length.
        TimingError
            If it is not a number.
        """
        values = _column(value, label)
        if values.size != self.t_s.size:
            raise RoadLogError(f"the log has {self.t_s.size} samples of the time but {values.size} of {label}")
        return values

    def runs(self) -> Iterator[Run]:
        """The whole log in stretches that fit the processor's cache, each checked as it is reached.

        Raises
        ------
        RoadLogError
            If the time runs backwards.
        TimingError
            If a figure is not finite, or a speed is negative.
        """
        for start in range(0, self.t_s.size, RUN):
            yield self.stretch(start, min(start + RUN, self.t_s.size))

    def stretch(self, start: int, stop: int) -> Run:
        """The samples from `start` to before `stop`, checked.

        Parameters
        ----------
        start, stop : int
            Places in the log, at least one apart.

        Returns
        -------
        Run
            Views of the log's columns, and how long each sample counts.

        Raises
        ------
        RoadLogError
            If the time runs backwards.
        TimingError
            If a figure is not finite, or a speed is negative.
        """
        at = slice(start, stop)
        rpm, vacuum = self.rpm[at], self._vacuum[at]
        rpm_span, vacuum_span = Span.of(rpm), Span.of(vacuum)
        if not (rpm_span.low >= 0.0 and rpm_span.is_finite):
            within(rpm, "the speed", low=0.0, unit="rpm")
        if not vacuum_span.is_finite:
            finite(vacuum, "the vacuum")
        slow = None
        left_out = None if self._leave_out is None else self._leave_out[at]
        if rpm_span.low < self._settings.lowest_rpm:
            slow = rpm < self._settings.lowest_rpm
            if left_out is not None:
                slow &= ~left_out
        counted, gap_s = self._counted(start, stop)
        return Run(at, rpm, vacuum, counted, gap_s, rpm_span, vacuum_span, slow, left_out)

    def _counted(self, start: int, stop: int) -> tuple[FloatArray, float]:
        """How long each sample counts, and the time lost in gaps; the log's last sample counts for nothing. [s]"""
        moments = self.t_s[start : stop + 1]
        counted = np.zeros(stop - start)
        if moments.size == 1:
            finite(moments, "the time")
            return counted, 0.0
        steps = counted[: moments.size - 1]
        with np.errstate(invalid="ignore"):  # infinity less infinity: refused in the next line
            np.subtract(moments[1:], moments[:-1], out=steps)
        shortest, longest = float(steps.min()), float(steps.max())
        if not (shortest >= 0.0 and longest < np.inf):
            finite(moments, "the time")
            first = int(np.argmax(steps < 0.0))
            raise RoadLogError(
                f"the log's time runs backwards: {moments[first + 1]:g} s comes after {moments[first]:g} s"
            )
        lost = 0.0
        if longest > self._settings.longest_gap_s:
            lost = float(np.maximum(steps - self._settings.longest_gap_s, 0.0).sum())
            np.minimum(steps, self._settings.longest_gap_s, out=steps)
        return counted, lost


def _column(value: ArrayLike, label: str) -> FloatArray:
    # A copy of a million samples costs as much as the sum over them; nothing here writes into a column.
    is_floats = isinstance(value, np.ndarray) and value.dtype == np.float64
    values: FloatArray = np.asarray(value) if is_floats else finite(value, label)
    if values.ndim != 1:
        raise RoadLogError(f"{label} must be one figure for each sample of the log")
    return values
