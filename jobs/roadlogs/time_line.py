"""The time line of a log in windows: as many spans as a screen has columns, packed for a canvas."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from jobs.roadlogs.kept_figures import DRAWN, figures_kept, time_line_kept
from jobs.roadlogs.models import RoadLog
from timing.roadlog import finest_within, reaching_over

MOST_SPANS = 8000


@dataclass(frozen=True, slots=True)
class Window:
    """Spans of a time line: when each begins, and the lowest and highest of each drawn column in it. [s], (3, k)"""

    t_s: NDArray[np.float64]
    low: NDArray[np.float32]
    high: NDArray[np.float32]

    def packed(self, *, from_s: float) -> bytes:
        """Little-endian float32: how many spans, their times after `from_s`, then all low and all high figures."""
        parts = [np.array([self.t_s.size]), self.t_s - from_s, self.low.ravel(), self.high.ravel()]
        return np.concatenate(parts).astype("<f4").tobytes()


def window(log: RoadLog, *, from_s: float, to_s: float, most: int) -> Window:
    """What is drawn of a stretch of `log`: its samples where there are few, else spans of them.

    Raises
    ------
    LogRefusedError
        If the kept files are gone or damaged.
    TimingError
        If the stretch is none.
    """
    levels = time_line_kept(log.time_line)
    place, spans = finest_within(levels, from_s=from_s, to_s=to_s, most=most)
    level = levels[place]
    if place == 0 and (spans.stop - spans.start) * level.samples <= most:
        kept = figures_kept(log.figures, *DRAWN)
        near = reaching_over(kept.t_s, from_s=from_s, to_s=to_s)
        drawn = np.stack([kept.columns[name][near] for name in DRAWN])
        return Window(kept.t_s[near], drawn, drawn)
    return Window(level.t_s[spans], level.low[:, spans], level.high[:, spans])


@dataclass(frozen=True, slots=True)
class Minute:
    """A row of the table behind the time line: lowest and highest of some minutes."""

    from_s: float
    rpm: tuple[float, float]
    vacuum: tuple[float, float]
    advance: tuple[float, float]


STEPS_S = (10.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1800.0, 3600.0, 7200.0, 14400.0)
MOST_ROWS = 40


def table_of(log: RoadLog) -> list[Minute]:
    """The time line as a table of at most forty rows or so, in steps that people count in."""
    step = next((step for step in STEPS_S if log.duration_s / step <= MOST_ROWS), log.duration_s / MOST_ROWS)
    levels = time_line_kept(log.time_line)
    # The coarsest level that still has several spans to a row.
    level = next((one for one in reversed(levels) if one.t_s.size >= 8 * log.duration_s / step), levels[0])
    row = np.floor(level.t_s / step).astype(np.int64)
    starts = np.flatnonzero(np.diff(row, prepend=-1))
    low, high = np.fmin.reduceat(level.low, starts, axis=1), np.fmax.reduceat(level.high, starts, axis=1)
    return [
        Minute(float(row[start] * step), *((float(low[one, at]), float(high[one, at])) for one in range(len(DRAWN))))
        for at, start in enumerate(starts)
    ]
