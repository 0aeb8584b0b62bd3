"""What may enter a strobe session: one speed and one advance for each reading, or a refusal that says what is wrong."""

from __future__ import annotations

from numpy.typing import ArrayLike

from timing.errors import TimingError
from timing.inputs import FloatArray, number, within

# Beyond these a reading is a slipped digit: no distributor fires a spark half a turn early, or at 30 000 rpm.
HIGHEST_RPM = 30_000.0
LARGEST_ADVANCE_DEG = 180.0


class StrobeError(TimingError):
    """Strobe readings that cannot be worked with, or a question they cannot answer."""


def checked_readings(rpm: ArrayLike, measured: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Speeds and measured advances, one of each for each reading, or a refusal. [rpm, degrees of crank]"""
    speeds = within(rpm, "a speed", above=0.0, high=HIGHEST_RPM, unit="rpm")
    seen = checked_advance(measured, "a measured advance")
    if speeds.ndim != 1:
        raise StrobeError("readings must be a list of speeds and a list of measured advances")
    if not speeds.size:
        raise StrobeError("there are no readings")
    refuse_other_length(speeds, seen, "measured advances")
    return speeds, seen


def checked_mark_error(degrees: float | None) -> float | None:
    """The timing mark's error against the piston stop, if it was measured, or a refusal. [degrees of crank]"""
    if degrees is None:
        return None
    return number(degrees, "the error of the timing mark", low=-180.0, high=180.0, unit="degrees")


def checked_advance(values: ArrayLike, what: str) -> FloatArray:
    """`values` as degrees of crank that a spark could have, or a refusal naming `what`."""
    return within(values, what, low=-LARGEST_ADVANCE_DEG, high=LARGEST_ADVANCE_DEG, unit="degrees")


def refuse_other_length(speeds: FloatArray, others: FloatArray, what: str) -> None:
    """A refusal unless there is one of `others`, named `what`, for each speed."""
    if others.shape != speeds.shape:
        raise StrobeError(f"{speeds.size} speeds but {others.size} {what}: each reading needs one of each")
