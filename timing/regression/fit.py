"""Least squares with honest uncertainty: scatter, and the step of the scale."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from timing.inputs import FloatArray, FloatOrArray, finite, number, same_shape_as_asked
from timing.regression.errors import RegressionError
from timing.regression.student import student_t_two_sided

# Columns this close to dependent (after scaling each to length 1) leave no correct digit in float64.
_SINGULAR_CONDITION = 1e12

# A reading rounded to a step is off by anything up to half of it, all equally likely: this share of the step.
_ROUNDING_SD = 1.0 / math.sqrt(12.0)


class Estimate(NamedTuple):
    """A mean and how far it may be off: `mean` plus or minus `half_width`, in the unit of the readings."""

    mean: FloatOrArray
    half_width: FloatOrArray


@dataclass(frozen=True, slots=True)
class LeastSquares:
    """The least-squares fit of readings by a sum of columns.

    Attributes
    ----------
    coefficients : tuple of float
        One for each column, in the unit of the readings over the unit of the column.
    residuals : tuple of float
        Reading minus fitted value. [unit of the readings]
    leverages : tuple of float
        How much each reading pulls the fit towards itself: 0 not at all, 1 wholly.
    df : int
        Degrees of freedom: readings less columns. May be 0: then nothing is known about the uncertainty.
    residual_sd : float or None
        Standard deviation about the fit, None if `df` is 0. [unit of the readings]
    weights : tuple of tuples
        One row for each coefficient: how much of each reading is in it. [unit of the coefficient over that of the
        readings]
    step : float
        The step of the scale to which the readings were rounded, 0 for readings that were not. [unit of the readings]
    """

    coefficients: tuple[float, ...]
    residuals: tuple[float, ...]
    leverages: tuple[float, ...]
    df: int
    residual_sd: float | None
    weights: tuple[tuple[float, ...], ...]
    step: float = 0.0

    def interval(self, at: int, confidence: float = 0.95) -> tuple[float, float] | None:
        """Lowest and highest likely value of a coefficient.

        Parameters
        ----------
        at : int
            Number of the coefficient, counted from 0.
        confidence : float
            Chance that the interval holds the true value, above 0 and below 1.

        Returns
        -------
        tuple of float, or None
            In the unit of the coefficient; None if `df` is 0. The step of the scale counts, as in `mean_at`.
        """
        if self.residual_sd is None:
            return None
        half = float(self._half_width(np.array(self.weights[at]), self.residual_sd, confidence))
        return self.coefficients[at] - half, self.coefficients[at] + half

    def mean_at(self, *columns: ArrayLike, confidence: float = 0.95) -> Estimate:
        """The fitted mean where the columns have these values, and the half width of its interval.

        Parameters
        ----------
        *columns : float or array
            A value for each column of the fit, all of one shape or scalar.
        confidence : float
            Chance that the interval holds the true mean, above 0 and below 1.

        Returns
        -------
        Estimate
            Floats for scalars, arrays for arrays. [unit of the readings]

        Raises
        ------
        RegressionError
            If `df` is 0, or a value is missing.

        Notes
        -----
        The mean is a sum of the readings y, each with its weight w. Two things make it uncertain, and are added as
        squares: the scatter, Student's t times s sqrt(sum w^2), with s not below the step over sqrt(12) that rounding
        makes by itself; and what rounding may do to all readings alike, at most half a step times sum |w|. The second
        keeps the interval true where the readings scatter less than the step and are all rounded the same way.

        References
        ----------
        Seber and Lee, Linear Regression Analysis, section 3.3 (from memory), for the first part; the second is a
        bound on any sum of rounded readings, derived. The tests prove the coverage by simulation.
        """
        if self.residual_sd is None:
            raise RegressionError("there are only just enough readings for the fit: its uncertainty is not known")
        if len(columns) != len(self.coefficients):
            raise RegressionError(f"the fit has {len(self.coefficients)} columns, but {len(columns)} were given")
        rows = np.stack(np.broadcast_arrays(*(finite(column, "a value") for column in columns)), axis=-1)
        mean = rows @ np.array(self.coefficients)
        half = self._half_width(rows @ np.array(self.weights), self.residual_sd, confidence)
        return Estimate(same_shape_as_asked(np.asarray(mean)), same_shape_as_asked(np.asarray(half)))

    def _half_width(self, weights: FloatArray, residual_sd: float, confidence: float) -> FloatArray:
        """Of the interval of a sum of the readings; `weights` has one for each of them in its last axis."""
        scatter = max(residual_sd, self.step * _ROUNDING_SD)
        by_scatter = student_t_two_sided(confidence, self.df) * scatter * np.sqrt((weights**2).sum(axis=-1))
        by_rounding = self.step / 2.0 * np.abs(weights).sum(axis=-1)
        return np.asarray(np.hypot(by_scatter, by_rounding))

    def misfit_from_others(self, at: int) -> float | None:
        """How far reading number `at` lies from the fit of all the others; None if they cannot be fitted.

        In the unit of the readings. The deleted residual e / (1 - h); Cook and Weisberg 1982, Residuals and Influence
        in Regression, section 2.2 (from memory).
        """
        spare = 1.0 - self.leverages[at]
        # A reading alone at its end of the range carries the fit by itself.
        return None if spare < 1e-9 else self.residuals[at] / spare

    def studentised(self, at: int) -> float | None:
        """Reading number `at` in standard errors of the fit of all the others, None if that cannot be known.

        The externally studentised residual, Student t with `df` - 1 degrees of freedom if the reading is an
        ordinary one; Cook and Weisberg 1982, section 2.2.1 (from memory). The others are taken to scatter by as much
        as the step of the scale alone makes. Infinite where they agree exactly on a scale without a step.
        """
        misfit = self.misfit_from_others(at)
        if misfit is None or self.residual_sd is None or self.df < 2:
            return None
        squares = self.residual_sd**2 * self.df
        others = max((squares - self.residuals[at] * misfit) / (self.df - 1), (self.step * _ROUNDING_SD) ** 2)
        if others == 0.0:
            return math.copysign(math.inf, misfit) if misfit else 0.0
        return misfit * math.sqrt((1.0 - self.leverages[at]) / others)


def least_squares(columns: Sequence[ArrayLike], readings: ArrayLike, *, step: float = 0.0) -> LeastSquares:
    """Fit `readings` by the sum of `columns`, each times a coefficient.

    Parameters
    ----------
    columns : sequence of arrays
        Each of shape (n,); a column of ones is the constant. Scaled inside, so their units do not matter.
    readings : array
        Shape (n,), n at least the number of columns.
    step : float
        The step of the scale to which the readings were rounded, 0 or more; it widens every interval.
        [unit of the readings]

    Returns
    -------
    LeastSquares
        The fit, with its uncertainty where there are more readings than columns.

    Raises
    ------
    RegressionError
        If lengths differ, there are fewer readings than columns, or the columns cannot be told apart.
    TimingError
        If a figure is not finite, or the step is below 0.

    References
    ----------
    Ordinary least squares by the singular value decomposition of the scaled columns: Golub and Van Loan, Matrix
    Computations, section 5.5 (from memory). Reproduces the certified values of NIST StRD Norris, NoInt1 and Pontius.
    """
    observed = finite(readings, "a reading")
    coarse = number(step, "the step of the scale", low=0.0)
    if observed.ndim != 1:
        raise RegressionError("readings must be one list")
    if condition_number(columns, len(observed)) > _SINGULAR_CONDITION:
        raise RegressionError("these readings cannot tell the figures asked for apart")
    scaled, lengths = _scaled(columns, len(observed))
    basis, singular, turned = np.linalg.svd(scaled, full_matrices=False)
    weights = (turned.T / singular) @ basis.T / lengths[:, np.newaxis]
    coefficients = (turned.T / singular) @ (basis.T @ observed) / lengths
    residuals = observed - scaled @ (coefficients * lengths)
    df = len(observed) - len(lengths)
    squares = math.fsum(float(residual) ** 2 for residual in residuals)
    return LeastSquares(
        coefficients=tuple(float(value) for value in coefficients),
        residuals=tuple(float(value) for value in residuals),
        leverages=tuple(float(value) for value in (basis**2).sum(axis=1)),
        df=df,
        residual_sd=math.sqrt(squares / df) if df > 0 else None,
        weights=tuple(tuple(float(weight) for weight in row) for row in weights),
        step=coarse,
    )


def condition_number(columns: Sequence[ArrayLike], count: int) -> float:
    """Ratio of largest to smallest singular value of the columns, each scaled to length 1.

    Parameters
    ----------
    columns : sequence of arrays
        Each of shape (count,).
    count : int
        How many values each column must have.

    Returns
    -------
    float
        1 for columns that have nothing in common, infinite for columns that say the same (or a column of zeros).

    Raises
    ------
    RegressionError
        If a column has not `count` values, or there are fewer values than columns.
    """
    scaled, _ = _scaled(columns, count)
    singular = np.linalg.svd(scaled, compute_uv=False)
    return math.inf if singular[-1] == 0.0 else float(singular[0] / singular[-1])


def _scaled(columns: Sequence[ArrayLike], count: int) -> tuple[FloatArray, FloatArray]:
    checked = [finite(column, "a value") for column in columns]
    if not checked:
        raise RegressionError("a fit needs at least one column")
    if any(column.shape != (count,) for column in checked):
        raise RegressionError(f"each column must have {count} values, one for each reading")
    if count < len(checked):
        raise RegressionError(f"{count} readings are too few to find {len(checked)} values")
    table = np.column_stack(checked)
    largest = np.abs(table).max(axis=0)
    largest[largest == 0.0] = 1.0
    lengths = largest * np.sqrt(((table / largest) ** 2).sum(axis=0))
    lengths[lengths == 0.0] = 1.0
    return table / lengths, lengths
