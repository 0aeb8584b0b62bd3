"""What may enter a formula: finite figures within their range, or a refusal that says which figure was wrong.

Every public function of `timing` passes its arguments through here, so that a NaN, a text or a negative speed is
refused at the door with a sentence, and never comes out as a warning from numpy and a wrong number.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from timing.errors import TimingError

FloatArray: TypeAlias = NDArray[np.float64]
FloatOrArray: TypeAlias = float | FloatArray


def finite(value: ArrayLike, what: str) -> FloatArray:
    """`value` as float64, a new array of any shape, or a refusal naming `what`.

    Raises
    ------
    TimingError
        If it is not a number, or any element is NaN or infinite.
    """
    try:
        figures = np.array(value, dtype=np.float64)
    except (TypeError, ValueError) as problem:
        raise TimingError(f"{what} must be a number") from problem
    if not np.isfinite(figures).all():
        raise TimingError(f"{what} must be a finite number")
    return figures


def within(
    value: ArrayLike,
    what: str,
    *,
    low: float | None = None,
    high: float | None = None,
    above: float | None = None,
    unit: str = "",
) -> FloatArray:
    """`value` as float64 if every element is at least `low` (or more than `above`) and at most `high`.

    Raises
    ------
    TimingError
        Naming `what`, the bound that was passed, and the first figure that passed it.
    """
    figures = finite(value, what)
    spaced = f" {unit}" if unit else ""
    if above is not None and not (figures > above).all():
        worst = figures[~(figures > above)].flat[0]
        raise TimingError(f"{what} must be above {above:g}{spaced}, not {worst:g}")
    if low is not None and not (figures >= low).all():
        worst = figures[~(figures >= low)].flat[0]
        raise TimingError(f"{what} must be {low:g}{spaced} or more, not {worst:g}")
    if high is not None and not (figures <= high).all():
        worst = figures[~(figures <= high)].flat[0]
        raise TimingError(f"{what} must be {high:g}{spaced} or less, not {worst:g}")
    return figures


def number(
    value: ArrayLike,
    what: str,
    *,
    low: float | None = None,
    high: float | None = None,
    above: float | None = None,
    unit: str = "",
) -> float:
    """One figure, as `within`, and a refusal if a list was given.

    Raises
    ------
    TimingError
        As `within`, and if `value` is not a single figure.
    """
    figures = within(value, what, low=low, high=high, above=above, unit=unit)
    if figures.ndim:
        raise TimingError(f"{what} must be one number, not a list")
    return float(figures)


def whole(value: ArrayLike, what: str, *, low: int | None = None, high: int | None = None) -> int:
    """One whole number between `low` and `high`.

    Raises
    ------
    TimingError
        As `number`, and if `value` has a fraction.
    """
    figure = number(value, what, low=low, high=high)
    if not figure.is_integer():
        raise TimingError(f"{what} must be a whole number, not {figure:g}")
    return int(figure)


def together(*figures: FloatArray, what: str) -> tuple[FloatArray, ...]:
    """`figures` broadcast to one shape, not to be written into, or a refusal naming `what` they are.

    Raises
    ------
    TimingError
        If there are not as many of one as of another, nor one for all.
    """
    try:
        return np.broadcast_arrays(*figures)
    except ValueError as problem:
        counts = " and ".join(str(figure.size) for figure in figures)
        raise TimingError(f"{what} do not go together: there are {counts} of them") from problem


def same_shape_as_asked(result: FloatArray) -> FloatOrArray:
    """A float for a scalar result, the array for anything else: scalars in, scalars out."""
    return float(result) if result.ndim == 0 else result
