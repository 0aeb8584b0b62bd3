"""What a unit can hold at a node."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from timing.errors import TimingError
from timing.inputs import FloatArray, number


class GridFitError(TimingError):
    """A unit's grid that cannot be searched, or that holds no curve of the kind asked for."""


# Beyond this a figure is a slip of the keyboard, and squaring it would leave the range of floating point. [degrees]
MOST_DEGREES = 100_000.0

# Two results closer than this, relative to their size where that is above one, are equal: floating point is
# noisier than a tie and quieter than any step a unit has. [degrees, degrees squared]
SAME = 1e-9

# More steps than any unit offers: somebody typed a zero too many.
_MOST_STEPS = 1_000_000


@dataclass(frozen=True, slots=True)
class DegreeSteps:
    """The values a unit can hold at a node: the multiples of `step` from `low` to `high`. [degrees of crank]

    Values are counted in whole steps and only then turned into degrees, so that three steps of 0.1 are 0.3 and
    not the floating-point sum of three.

    Raises
    ------
    GridFitError
        If the limits are crossed, no multiple of the step lies between them, or the step is absurdly fine.
    TimingError
        If the step is not above zero, or a figure is not a finite number of a sensible size.
    """

    step: float
    low: float
    high: float

    def __post_init__(self) -> None:
        step = number(self.step, "the step", above=0, high=MOST_DEGREES, unit="degrees")
        low = number(self.low, "the lowest value", low=-MOST_DEGREES, high=MOST_DEGREES, unit="degrees")
        high = number(self.high, "the highest value", low=-MOST_DEGREES, high=MOST_DEGREES, unit="degrees")
        object.__setattr__(self, "step", step)
        object.__setattr__(self, "low", low)
        object.__setattr__(self, "high", high)
        between = f"{low:g} and {high:g} degrees"
        if low > high:
            raise GridFitError(f"the lowest value must not be above the highest: nothing lies between {between}")
        if step * _MOST_STEPS < max(abs(low), abs(high), 1.0):
            raise GridFitError(f"a step of {step:g} is too fine for values between {between}")
        if self.highest < self.lowest:
            raise GridFitError(f"no multiple of the step of {step:g} lies between {between}")

    @property
    def lowest(self) -> int:
        """The lowest value, in steps."""
        return math.ceil(_as_written(self.low) / _as_written(self.step))

    @property
    def highest(self) -> int:
        """The highest value, in steps."""
        return math.floor(_as_written(self.high) / _as_written(self.step))

    def any_between(self, low: float, high: float) -> bool:
        """Whether the unit can hold a value from `low` to `high`.

        Parameters
        ----------
        low, high : float
            Both included. [degrees of crank]

        Returns
        -------
        bool
            False also where `low` is above `high`.
        """
        first = max(self.lowest, math.ceil((low - SAME) / self.step))
        last = min(self.highest, math.floor((high + SAME) / self.step))
        return first <= last

    def degrees(self, steps: NDArray[np.integer] | FloatArray) -> FloatArray:
        """Whole steps in degrees, each the float nearest to the true product."""
        step = _as_written(self.step)
        return np.asarray(steps, dtype=np.float64) * float(step.numerator) / float(step.denominator)


def _as_written(figure: float) -> Fraction:
    """The decimal figure somebody typed, 1/10 for 0.1, not the binary one that stands for it."""
    return Fraction(repr(figure))
