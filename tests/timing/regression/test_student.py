"""Student's t and the incomplete beta function, against printed tables and scipy."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special, stats

from tests.timing.published import rows
from timing.errors import TimingError
from timing.regression import student_t, student_t_two_sided
from timing.regression.student import incomplete_beta


@pytest.mark.parametrize("row", rows("student_t_table.csv"), ids=lambda row: f"df {row['df']:g} tail {row['tail']:g}")
def test_student_t_is_that_of_the_printed_table_of_a_handbook(row):
    assert student_t(1 - row["tail"], row["df"]) == pytest.approx(row["t"], abs=5.1e-4), "NIST/SEMATECH e-Handbook"
    assert student_t_two_sided(1 - 2 * row["tail"], row["df"]) == pytest.approx(row["t"], abs=5.1e-4)


@pytest.mark.parametrize(
    ("df", "printed"),
    [
        (1, 12.706205),
        (2, 4.302653),
        (3, 3.182446),
        (4, 2.776445),
        (5, 2.570582),
        (6, 2.446912),
        (7, 2.364624),
        (8, 2.306004),
        (10, 2.228139),
        (18, 2.100922),
    ],
)
def test_student_t_is_that_of_the_printed_table(df, printed):
    assert student_t(0.975, df) == pytest.approx(printed, abs=5e-7), "handbook 5"
    assert student_t_two_sided(0.95, df) == pytest.approx(printed, abs=5e-7), "handbook 5"


@pytest.mark.parametrize("probability", [1e-6, 0.001, 0.025, 0.3, 0.6, 0.9, 0.975, 0.995, 0.99999])
def test_student_t_agrees_with_scipy_for_any_degrees_of_freedom(probability):
    for df in [*range(1, 201), 0.5, 2.5, 1000, 100_000]:
        assert student_t(probability, df) == pytest.approx(stats.t.ppf(probability, df), rel=1e-9), f"scipy, df {df}"


@pytest.mark.parametrize(
    ("df", "probability", "expected", "source"),
    [
        (1, 0.75, 1.0, "Cauchy: tan(pi (p - 1/2))"),
        (1, 0.9, math.tan(0.4 * math.pi), "Cauchy: tan(pi (p - 1/2))"),
        (2, 0.9, 0.8 * math.sqrt(2 / (1 - 0.64)), "two degrees: u sqrt(2 / (1 - u^2)), u = 2 p - 1"),
        (5, 0.5, 0.0, "symmetry"),
    ],
)
def test_student_t_has_its_closed_forms(df, probability, expected, source):
    assert student_t(probability, df) == pytest.approx(expected, abs=1e-12), source


@given(st.floats(0.01, 0.49), st.floats(0.5, 300))
def test_student_t_is_symmetric(probability, df):
    assert student_t(probability, df) == pytest.approx(-student_t(1 - probability, df), rel=1e-9)


@given(st.floats(0.1, 200), st.floats(0.1, 200), st.floats(0, 1))
def test_incomplete_beta_agrees_with_scipy(a, b, x):
    assert incomplete_beta(a, b, x) == pytest.approx(special.betainc(a, b, x), rel=1e-9, abs=1e-12)


@pytest.mark.parametrize(("x", "expected"), [(0.0, 0.0), (1.0, 1.0), (0.25, 0.25)])
def test_incomplete_beta_of_one_and_one_is_its_argument(x, expected):
    assert incomplete_beta(1, 1, x) == pytest.approx(expected, abs=1e-15), "NIST DLMF 8.17: the uniform distribution"


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: student_t(1, 5), "probability must be below 1, not 1"),
        (lambda: student_t(0, 5), "probability must be above 0"),
        (lambda: student_t(0.9, 0), "degrees of freedom must be above 0"),
        (lambda: student_t(math.nan, 5), "probability must be a finite number"),
        (lambda: student_t_two_sided(0, 5), "confidence must be above 0"),
        (lambda: student_t_two_sided(1.0, 5), "confidence must be below 1, not 1"),
        (lambda: student_t_two_sided(0.95, -1), "degrees of freedom must be above 0, not -1"),
        (lambda: incomplete_beta(1, 1, 1.5), "x must be 1 or less, not 1.5"),
        (lambda: incomplete_beta(1, 1, -0.5), r"x must be 0 or more, not -0\.5"),
        (lambda: incomplete_beta(0, 1, 0.5), "a must be above 0"),
        (lambda: incomplete_beta(1, 0, 0.5), "b must be above 0"),
    ],
)
def test_figures_outside_a_distribution_are_refused(call, message):
    with pytest.raises(TimingError, match=f"^{message}"):
        call()
