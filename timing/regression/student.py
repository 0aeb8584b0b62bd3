"""Student's t, from the incomplete beta function."""

from __future__ import annotations

import math
from functools import lru_cache

from timing.inputs import number, within
from timing.regression.errors import RegressionError

_LONGEST_CONTINUED_FRACTION = 20_000


def student_t_two_sided(confidence: float, df: float) -> float:
    """The t with which a standard error becomes the half width of an interval of this confidence.

    Parameters
    ----------
    confidence : float
        Above 0 and below 1; 0.95 is usual.
    df : float
        Degrees of freedom, above 0.

    Returns
    -------
    float
        0 or more.

    Raises
    ------
    RegressionError
        If `confidence` is 1 or more.
    TimingError
        If a figure is not finite, or not above 0.

    References
    ----------
    Found by Newton's steps from the incomplete beta function, see `incomplete_beta`.
    """
    share = number(confidence, "confidence", above=0.0)
    if share >= 1.0:
        raise RegressionError(f"confidence must be below 1, not {share:g}")
    return _t_with_two_tails(1.0 - share, number(df, "degrees of freedom", above=0.0))


def student_t(probability: float, df: float) -> float:
    """Quantile of Student's t: the value that is not exceeded with this probability.

    Parameters
    ----------
    probability : float
        Above 0 and below 1.
    df : float
        Degrees of freedom, above 0.

    Returns
    -------
    float
        Below 0 for a probability below a half.

    Raises
    ------
    RegressionError
        If `probability` is 1 or more.
    TimingError
        If a figure is not finite, or not above 0.

    References
    ----------
    As `student_t_two_sided`.
    """
    share = number(probability, "probability", above=0.0)
    if share >= 1.0:
        raise RegressionError(f"probability must be below 1, not {share:g}")
    freedom = number(df, "degrees of freedom", above=0.0)
    if share < 0.5:
        return -_t_with_two_tails(2.0 * share, freedom)
    return _t_with_two_tails(2.0 * (1.0 - share), freedom)


def _two_tails(t: float, df: float) -> float:
    """Chance that Student's t lies as far from 0 as `t`: Abramowitz and Stegun 26.7.1 (from memory)."""
    square = t * t
    if math.isinf(square):
        return 0.0
    return incomplete_beta(df / 2.0, 0.5, df / (df + square), square / (df + square))


@lru_cache(maxsize=512)
def _t_with_two_tails(tails: float, df: float) -> float:
    if tails >= 1.0:
        return 0.0
    height = math.exp(math.lgamma((df + 1.0) / 2.0) - math.lgamma(df / 2.0)) / math.sqrt(math.pi * df)
    t = 0.0
    # The tails fall convexly, so Newton's steps from 0 rise to the root and never pass it.
    for _ in range(500):
        density = 2.0 * height * math.exp(-(df + 1.0) / 2.0 * math.log1p(t * t / df))
        step = (_two_tails(t, df) - tails) / density
        if step <= 4e-16 * t:
            return t
        t += step
    raise RegressionError(f"no Student t was found for {df:g} degrees of freedom")  # pragma: no cover


def incomplete_beta(a: float, b: float, x: float, complement: float | None = None) -> float:
    """Regularised incomplete beta function I_x(a, b).

    Parameters
    ----------
    a, b : float
        Above 0.
    x : float
        0 to 1.
    complement : float, optional
        1 - x, where it is known more exactly than by subtraction.

    Returns
    -------
    float
        0 to 1.

    Raises
    ------
    TimingError
        If a figure is not finite or out of its range.

    References
    ----------
    Continued fraction of NIST DLMF 8.17.22, and I_x(a, b) = 1 - I_(1-x)(b, a) (DLMF 8.17.4) where it converges slowly.
    """
    first = number(a, "a", above=0.0)
    second = number(b, "b", above=0.0)
    share = float(within(x, "x", low=0.0, high=1.0))
    rest = 1.0 - share if complement is None else complement
    if share == 0.0 or rest == 0.0:
        return 0.0 if share == 0.0 else 1.0
    if share > (first + 1.0) / (first + second + 2.0):
        return 1.0 - _beta_fraction(second, first, rest, share)
    return _beta_fraction(first, second, share, rest)


def _beta_fraction(a: float, b: float, x: float, rest: float) -> float:
    logarithm = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log(rest)
    # Evaluated from the front (Lentz): `value` is the fraction so far, `above` and `below` the ratios of successive
    # numerators and denominators.
    value = above = 1.0
    below = 0.0
    for term in range(1, _LONGEST_CONTINUED_FRACTION):
        half, odd = divmod(term, 2)
        if odd:
            coefficient = -(a + half) * (a + b + half) * x / ((a + term - 1.0) * (a + term))
        else:
            coefficient = half * (b - half) * x / ((a + term - 1.0) * (a + term))
        below = 1.0 / (1.0 + coefficient * below)
        above = 1.0 + coefficient / above
        change = above * below
        value *= change
        if abs(change - 1.0) < 1e-16:
            break
    return math.exp(logarithm) / (a * value)
