"""Straight-line statistics: least squares with honest uncertainty, and Student's t."""

from timing.regression.errors import RegressionError
from timing.regression.fit import Estimate, LeastSquares, condition_number, least_squares
from timing.regression.student import student_t, student_t_two_sided

__all__ = [
    "Estimate",
    "LeastSquares",
    "RegressionError",
    "condition_number",
    "least_squares",
    "student_t",
    "student_t_two_sided",
]
