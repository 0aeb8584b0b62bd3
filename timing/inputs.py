"""What may enter a formula: finite figures within their range, or a refusal that says which figure was wrong.

Every public function of `timing` passes its arguments through here, so that a NaN, a text or a negative speed is
refused at the door with a sentence, and never comes out as a warning from numpy and a wrong number.
"""

from __future__ import annotations

import math
import numbers
from collections.abc import Sequence
from decimal import Decimal
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from timing.errors import TimingError

FloatArray: TypeAlias = NDArray[np.float64]
FloatOrArray: TypeAlias = float | FloatArray

_PLAIN = frozenset({float, int})
_TOO_DEEP = 32  # no list of figures is nested like that; a list that holds itself is


def finite(value: ArrayLike, what: str) -> FloatArray:
    """`value` as float64, or a refusal naming `what`.

    Figures are numbers, lists of them and plain arrays of whole or floating-point numbers. Texts, truth values, dates,
    complex and masked arrays and the quantities of another library are none, although numpy would make some: a figure
    with a unit of its own would lose it here.

    Parameters
    ----------
    value : float or array
        The figures, of any shape.
    what : str
        What they are, for a refusal.

    Returns
    -------
    array of float
        A new array of the shape of `value`.

    Raises
    ------
    TimingError
        If it is no figure, lists in it differ in length, or any element is NaN or infinite.
    """
    if type(value) is float:
        if not math.isfinite(value):
            raise TimingError(f"{what} must be a finite number")
        return np.array(value)
    _refuse_unless_figures(value, what)
    try:
        figures = np.array(value, dtype=np.float64)
    except OverflowError as problem:
        raise TimingError(f"{what} is too large to be worked with") from problem
    except (TypeError, ValueError) as problem:
        raise TimingError(f"{what} must be a number") from problem
    if not np.isfinite(figures).all():
        raise TimingError(f"{what} must be a finite number")
    return figures


def _refuse_unless_figures(value: object, what: str, depth: int = 0) -> None:
    """Refuse what numpy would turn into figures although it is none."""
    # numpy counts a span of time among its whole numbers.
    if isinstance(value, Decimal | numbers.Real) and not isinstance(value, bool | np.timedelta64):
        return
    if isinstance(value, np.ma.MaskedArray):
        raise TimingError(f"{what} must be without masked values: leave them out first")
    if hasattr(value, "unit") or hasattr(value, "units"):
        raise TimingError(f"{what} must be a plain number: take its figure in the unit that is asked for")
    if isinstance(value, Sequence) and not isinstance(value, str | bytes | bytearray | memoryview):
        if depth > _TOO_DEEP:
            raise TimingError(f"{what} must be a number")
        if isinstance(value, range) or set(map(type, value)) <= _PLAIN:
            return
        for element in value:
            if type(element) not in _PLAIN:
                _refuse_unless_figures(element, what, depth + 1)
        return
    if hasattr(value, "__array__"):
        array = np.asarray(value)
        if array.dtype.kind in "iuf":
            return
        if array.dtype.kind == "O" and array.size:
            _refuse_unless_figures(array.ravel().tolist(), what, depth + 1)
            return
    raise TimingError(f"{what} must be a number")


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

    Parameters
    ----------
    value : float or array
        The figures, of any shape.
    what : str
        What they are, for a refusal.
    low, high, above : float, optional
        The bounds, `low` and `high` included, `above` not. [unit]
    unit : str
        Printed after a bound.

    Returns
    -------
    array of float
        A new array of the shape of `value`.

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

    Parameters
    ----------
    value : float
        The figure.
    what, low, high, above, unit
        As for `within`.

    Returns
    -------
    float
        The figure.

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

    Parameters
    ----------
    value : int
        The number; a float without a fraction counts.
    what, low, high
        As for `within`.

    Returns
    -------
    int
        The number.

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

    Parameters
    ----------
    *figures : array of float
        What belongs together, element by element.
    what : str
        What they are, for a refusal.

    Returns
    -------
    tuple of array
        Views of one shape.

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
