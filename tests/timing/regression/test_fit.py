"""Least squares, against certified data sets of NIST, scipy and statsmodels."""

import math
from pathlib import Path

import numpy as np
import pytest
import scipy
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from statsmodels.regression.tests.results.results_regression import Longley

from tests.timing.published import rows
from timing.errors import TimingError
from timing.regression import RegressionError, condition_number, least_squares


def columns_of(dataset):
    x = np.array([row["x"] for row in rows(f"nist_{dataset.lower()}.csv")])
    return {
        "Norris": [np.ones_like(x), x],
        "NoInt1": [x],
        "Pontius": [np.ones_like(x), x, x**2],
    }[dataset]


def fitted(dataset):
    y = [row["y"] for row in rows(f"nist_{dataset.lower()}.csv")]
    return least_squares(columns_of(dataset), y), np.array(y)


def standard_errors(fit):
    """Of the coefficients, from their intervals and scipy's Student t."""
    t = stats.t.ppf(0.975, fit.df)
    return [(high - low) / 2 / t for low, high in (fit.interval(at) for at in range(len(fit.coefficients)))]


def figure_of(dataset, quantity):
    fit, y = fitted(dataset)
    squares = sum(residual**2 for residual in fit.residuals)
    first = 1 if dataset == "NoInt1" else 0
    return {
        "residual_sd": fit.residual_sd,
        "residual_df": fit.df,
        "R2": 1 - squares / ((y - y.mean()) ** 2).sum(),
        "R2_uncentred": 1 - squares / (y**2).sum(),
        **{f"B{first + at}": value for at, value in enumerate(fit.coefficients)},
        **{f"SE_B{first + at}": value for at, value in enumerate(standard_errors(fit))},
    }[quantity]


@pytest.mark.parametrize(
    ("dataset", "quantity", "certified"),
    [(row["dataset"], row["quantity"], row["certified"]) for row in rows("nist_certified.csv")],
)
def test_a_certified_fit_comes_out_to_nine_digits(dataset, quantity, certified):
    assert figure_of(dataset, quantity) == pytest.approx(certified, rel=1e-9), "NIST StRD, linear regression"


def test_norris_comes_out_to_eleven_digits_of_its_intercept():
    fit, _ = fitted("Norris")
    assert fit.coefficients[0] == pytest.approx(-0.262323073774029, rel=1e-11), "NIST StRD Norris; handbook 5"


@pytest.mark.parametrize(
    ("quantity", "certified"),
    [
        ("B1", 0.727272727272727),
        ("SE", 0.420827318078432e-01),
        ("sd", 0.369274472937998),
        ("R2", 0.993348115299335),
    ],
)
def test_three_readings_through_the_origin_come_out_as_certified(quantity, certified):
    fit = least_squares([[4, 5, 6]], [3, 4, 4])
    found = {
        "B1": fit.coefficients[0],
        "SE": standard_errors(fit)[0],
        "sd": fit.residual_sd,
        "R2": 1 - sum(residual**2 for residual in fit.residuals) / 41,  # 3^2 + 4^2 + 4^2
    }
    assert found[quantity] == pytest.approx(certified, rel=1e-13), "NIST StRD NoInt2, read in two public test suites"


@pytest.mark.parametrize("power", range(6))
def test_a_polynomial_of_the_fifth_degree_comes_out_as_certified(power):
    x = np.arange(21.0)
    fit = least_squares([x**degree for degree in range(6)], sum(x**degree for degree in range(6)))
    assert fit.coefficients[power] == pytest.approx(1, rel=1e-7), "NIST StRD Wampler1: every coefficient is 1"
    assert fit.residual_sd == pytest.approx(0, abs=1e-6), "NIST StRD Wampler1: an exact fit"


@pytest.mark.parametrize("at", range(7))
def test_six_columns_that_are_much_alike_come_out_as_certified(at):
    data = sm.datasets.longley.load_pandas()
    columns = [*data.exog.to_numpy().T, np.ones(len(data.endog))]
    fit, certified = least_squares(columns, data.endog.to_numpy()), Longley()
    assert fit.coefficients[at] == pytest.approx(certified.params[at], rel=1e-8), "NIST StRD Longley, in statsmodels"
    assert standard_errors(fit)[at] == pytest.approx(certified.bse[at], rel=1e-8), "NIST StRD Longley, in statsmodels"
    assert fit.residual_sd**2 == pytest.approx(certified.scale, rel=1e-9), "NIST StRD Longley, in statsmodels"


@pytest.mark.parametrize(
    ("dataset", "digits"),
    [
        ("SiRstv", 9), ("AtmWtAg", 4), ("SmLs01", 12), ("SmLs02", 12), ("SmLs03", 11), ("SmLs04", 7), ("SmLs05", 7),
        ("SmLs06", 6),
    ],
)  # fmt: skip
def test_groups_differ_from_each_other_and_within_as_certified(dataset, digits):
    """The data files of NIST StRD, analysis of variance, that scipy carries; a column of ones for each group."""
    file = Path(scipy.__file__).parent / "stats/tests/data/nist_anova" / f"{dataset}.dat"
    if not file.exists():
        pytest.skip("this scipy came without its test data")
    text = file.read_text()
    between, within = (line.split() for line in text.splitlines() if line.startswith(("Between", "Within")))
    group, values = np.loadtxt(file, skiprows=60).T
    fit = least_squares([1.0 * (group == one) for one in np.unique(group)], values)
    # The readings have many leading digits in common: their squares are taken about their mean.
    squares = sum(residual**2 for residual in fit.residuals)
    total = float(((values - values.mean()) ** 2).sum())
    certified_sd = float(text.split("Standard Deviation")[1].split()[0])
    close = {"rel": 10.0**-digits}
    assert fit.df == int(within[2])
    assert fit.residual_sd == pytest.approx(certified_sd, **close), "NIST StRD, certified residual standard deviation"
    assert squares == pytest.approx(float(within[3]), **close), "NIST StRD, within"
    assert total - squares == pytest.approx(float(between[3]), **close), "NIST StRD, between"
    assert (total - squares) / int(between[2]) / fit.residual_sd**2 == pytest.approx(float(between[5]), **close), (
        "NIST StRD, F statistic"
    )


def judge_of_statsmodels(columns, y):
    return sm.OLS(y, np.column_stack(columns)).fit()


@given(st.integers(0, 2**32 - 1), st.integers(6, 30))
def test_a_fit_of_three_columns_agrees_with_statsmodels(seed, count):
    chance = np.random.default_rng(seed)
    x = chance.uniform(3_000, 40_000, count)
    columns = [np.ones(count), x, chance.uniform(0, 20, count)]
    y = chance.normal(size=count) + 2 + 1e-4 * x
    ours, theirs = least_squares(columns, y), judge_of_statsmodels(columns, y)
    assert ours.coefficients == pytest.approx(theirs.params, rel=1e-7)
    assert standard_errors(ours) == pytest.approx(theirs.bse, rel=1e-7)
    assert ours.residuals == pytest.approx(theirs.resid, abs=1e-9)
    assert ours.residual_sd == pytest.approx(math.sqrt(theirs.mse_resid), rel=1e-9)
    assert ours.interval(1) == pytest.approx(theirs.conf_int()[1], rel=1e-6)
    influence = theirs.get_influence()
    assert ours.leverages == pytest.approx(influence.hat_matrix_diag, rel=1e-7)
    studentised = [ours.studentised(at) for at in range(count)]
    assert studentised == pytest.approx(influence.resid_studentized_external, rel=1e-6)


def test_the_mean_and_its_interval_agree_with_statsmodels():
    columns, (_, y) = columns_of("Norris"), fitted("Norris")
    ours = least_squares(columns, y).mean_at(1.0, np.array([0.0, 400.0, 2000.0]), confidence=0.9)
    theirs = judge_of_statsmodels(columns, y).get_prediction(np.array([[1, 0], [1, 400], [1, 2000.0]]))
    frame = theirs.summary_frame(alpha=0.1)
    assert ours.mean == pytest.approx(frame["mean"].to_numpy(), rel=1e-9)
    assert ours.half_width == pytest.approx((frame["mean_ci_upper"] - frame["mean"]).to_numpy(), rel=1e-9)


def test_the_mean_at_one_place_is_a_number_and_at_many_an_array():
    fit, _ = fitted("Norris")
    one, many = fit.mean_at(1.0, 400.0), fit.mean_at(1.0, [400.0, 500.0])
    assert isinstance(one.mean, float)
    assert isinstance(one.half_width, float)
    assert (many.mean[0], many.half_width[0]) == (one.mean, one.half_width)


class TestStep:
    """A scale with steps: what rounding may do is added to what scatter does."""

    def test_of_a_mean_it_adds_half_a_step_as_squares(self):
        fit = least_squares([np.ones(4)], [1, 2, 3, 4], step=1)
        # By hand: s = sqrt(5 / 3), t(0.975, 3) = 3.182446 of the printed table, half a step for all four alike.
        half = math.hypot(3.182446 * math.sqrt(5 / 3 / 4), 0.5)
        assert fit.interval(0) == pytest.approx((2.5 - half, 2.5 + half), abs=1e-6)
        assert fit.mean_at(1).half_width == pytest.approx(half, abs=1e-6)

    def test_readings_that_agree_scatter_by_what_rounding_makes(self):
        fit = least_squares([np.ones(4)], [2, 2, 2, 2], step=1)
        assert fit.residual_sd == pytest.approx(0, abs=1e-12)
        # 1 / sqrt(12): the standard deviation of what is off by up to half, all equally likely (scipy: uniform).
        half = math.hypot(3.182446 * stats.uniform.std() / 2, 0.5)
        assert fit.interval(0) == pytest.approx((2 - half, 2 + half), abs=1e-6)

    def test_of_a_slope_it_is_the_worst_that_any_rounding_can_do(self):
        fit = least_squares([[1, 1, 1], [0, 1, 2]], [5, 5, 5], step=1)
        # By hand: the slope is half the last less the first, so half a step each way is half a step of slope.
        half = math.hypot(stats.t.ppf(0.975, 1) / math.sqrt(12 * 2), 0.5)
        assert fit.interval(1) == pytest.approx((-half, half)), "scipy"

    def test_a_reading_is_no_surprise_against_others_that_rounding_made_equal(self):
        fit = least_squares([np.ones(4)], [0.0, 0.0, 0.0, 1.0], step=1)
        # By hand: 1 off the mean of three whose scatter is taken as 1 / sqrt(12): sqrt(12 * 3 / 4).
        assert fit.studentised(3) == pytest.approx(3.0)

    @pytest.mark.parametrize(
        ("step", "message"),
        [(-1, "the step of the scale must be 0"), (math.nan, "the step of the scale must be a finite")],
    )
    def test_it_is_a_figure_of_0_or_more(self, step, message):
        with pytest.raises(TimingError, match=f"^{message}"):
            least_squares([[1, 1]], [1, 2], step=step)


def test_taking_a_reading_away_moves_the_fit_by_its_misfit():
    x, y = np.array([1.0, 2, 3, 4, 5]), np.array([1.0, 2, 3, 9, 5])
    fit = least_squares([np.ones(5), x], y)
    keep = [0, 1, 2, 4]
    others = least_squares([np.ones(4), x[keep]], y[keep])
    assert fit.misfit_from_others(3) == pytest.approx(9 - (others.coefficients[0] + 4 * others.coefficients[1]))
    assert fit.misfit_from_others(3) == pytest.approx(5), "by hand: the others lie on y = x"


def test_a_reading_that_alone_carries_a_column_has_no_misfit():
    fit = least_squares([[1, 1, 1, 1.0], [0, 0, 0, 1.0]], [1, 2, 3, 9])
    assert fit.misfit_from_others(3) is None
    assert fit.studentised(3) is None
    assert fit.studentised(1) == pytest.approx(0.0, abs=1e-12), "the middle one of 1, 2, 3"


def test_a_fit_that_just_suffices_knows_nothing_of_its_uncertainty():
    fit = least_squares([[1, 1], [1, 2]], [3, 5])
    assert fit.coefficients == pytest.approx((1, 2)), "by hand: 1 + 2 x"
    assert (fit.df, fit.residual_sd) == (0, None)
    assert fit.interval(0) is None
    assert fit.studentised(0) is None
    with pytest.raises(RegressionError, match=r"^there are only just enough readings for the fit: its uncertainty"):
        fit.mean_at(1, 1)


def test_a_fit_with_one_reading_to_spare_gives_no_studentised_residual():
    assert least_squares([[1, 1, 1], [1, 2, 3]], [3, 5, 8]).studentised(0) is None


def test_a_reading_off_an_exact_line_is_infinitely_many_standard_errors_off():
    fit = least_squares([np.ones(4)], [0.0, 0.0, 0.0, 4.0])
    assert fit.studentised(3) == math.inf
    assert least_squares([np.ones(4)], [0.0, 0.0, 0.0, 0.0]).studentised(3) == 0.0


@given(st.floats(1e-3, 1e3), st.floats(1e-3, 1e3))
def test_units_do_not_change_a_fit(of_x, of_y):
    columns, (plain, y) = columns_of("Norris"), fitted("Norris")
    scaled = least_squares([columns[0], of_x * columns[1]], of_y * y)
    assert scaled.coefficients[1] * of_x / of_y == pytest.approx(plain.coefficients[1], rel=1e-10)
    assert standard_errors(scaled)[1] * of_x / of_y == pytest.approx(standard_errors(plain)[1], rel=1e-9)


@pytest.mark.parametrize(
    ("columns", "expected", "source"),
    [
        ([[1, 0], [0, 5]], 1.0, "columns at right angles, whatever their length"),
        ([[3, -4], [4, 3]], 1.0, "the same, with a sign"),
        ([[1, 1], [1, 1]], math.inf, "the same column twice"),
        ([[1, 1], [0, 0]], math.inf, "a column of zeros"),
        ([[1, 0], [1, 1]], 1 + math.sqrt(2), "two unit columns at 45 degrees: cot(22.5 degrees)"),
    ],
)
def test_the_condition_number_tells_how_alike_columns_are(columns, expected, source):
    found = condition_number(columns, 2)
    assert found == pytest.approx(expected) or (math.isinf(expected) and found > 1e15), source


@pytest.mark.parametrize(
    ("columns", "readings", "message"),
    [
        ([[1, 1, 1], [2, 2, 2]], [1, 2, 3], "these readings cannot tell the figures asked for apart"),
        ([[1, 1, 1], [1, 2]], [1, 2, 3], "each column must have 3 values"),
        ([[1], [2]], [1], "1 readings are too few to find 2 values"),
        ([], [1], "a fit needs at least one column"),
        ([[1, 1]], [[1, 2]], "readings must be one list"),
        ([[1, math.nan]], [1, 2], "a value must be a finite number"),
        ([[1, 1]], [1, math.inf], "a reading must be a finite number"),
    ],
)
def test_readings_that_settle_nothing_are_refused(columns, readings, message):
    with pytest.raises(TimingError, match=f"^{message}"):
        least_squares(columns, readings)


def test_a_mean_needs_a_value_for_each_column():
    fit, _ = fitted("Norris")
    with pytest.raises(TimingError, match=r"^a value must be a finite number"):
        fit.mean_at(1.0, math.nan)
    with pytest.raises(RegressionError, match=r"^the fit has 2 columns, but 1 were given"):
        fit.mean_at(1.0)
