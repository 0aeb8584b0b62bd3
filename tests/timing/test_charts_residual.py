"""The strobe's residuals: the worked sessions of the handbook, drawn, against statsmodels."""

import numpy as np
import pytest
import statsmodels.api as sm

from tests.timing.drawn import corners, figures, one
from timing.charts import ChartError, residual_chart, residual_chart_of
from timing.errors import TimingError
from timing.strobe import fit_readings

# The worked set S1 of the project's handbook, section 5.
RPM = [900, 1200, 1500, 2000, 2500, 3000, 3500, 4000]
MAP = [10, 12, 15, 20, 24, 27, 29, 30]
S1 = [7.5, 10, 12.5, 17, 21, 23.5, 25, 25.5]
LATE = [expected - read for expected, read in zip(MAP, S1, strict=True)]
READ = list(zip(RPM, LATE, strict=True))


def test_crosses_stand_where_the_readings_are_late():
    chart = residual_chart(READ, uid="r")
    crosses = one(chart.layers, "readings").d
    assert crosses.count("H") == crosses.count("V") == len(READ)
    x, y = chart.plot.at(*READ[0])
    assert f"V{y + 5.5:.2f}".rstrip("0").rstrip(".") in crosses
    assert f"H{x + 5.5:.2f}".rstrip("0").rstrip(".") in crosses


def test_late_is_up_and_early_is_down():
    chart = residual_chart([(1000, 2.0), (2000, -2.0)], uid="r")
    assert chart.plot.up.at(2.0) < chart.plot.up.at(-2.0)
    ends = {text.words: text.y for text in chart.texts}
    assert ends["late"] < ends["early"]
    assert "Read: 2° late at 1000, 2° early at 2000 rpm." in chart.words


def test_the_band_of_a_session_is_that_of_statsmodels():
    chart = residual_chart_of(fit_readings(RPM, S1, MAP), uid="r")
    area = figures(one(chart.under, "confidence"), chart.plot)
    half = len(area) // 2
    speeds = np.array([rpm for rpm, _ in area[:half]])
    fitted = sm.OLS(LATE, sm.add_constant(np.array(RPM, dtype=float))).fit()
    judge = fitted.get_prediction(sm.add_constant(speeds)).conf_int(alpha=0.05)
    low = np.array([late for _, late in area[:half]])
    high = np.array([late for _, late in area[half:]][::-1])
    assert low == pytest.approx(judge[:, 0], abs=0.02)
    assert high == pytest.approx(judge[:, 1], abs=0.02)
    assert (speeds.min(), speeds.max()) == pytest.approx((900, 4000), abs=0.5)


@pytest.mark.parametrize(
    ("rpm", "mean", "source"),
    [(3000, 3.6088, "handbook section 5, mean residual of S1"), (900, 2.1037, "its line by hand")],
)
def test_the_fitted_line_passes_where_the_handbook_says(rpm, mean, source):
    chart = residual_chart_of(fit_readings(RPM, S1, MAP), uid="r")
    line = figures(one(chart.layers, "fitted"), chart.plot)
    assert np.interp(rpm, *zip(*line, strict=True)) == pytest.approx(mean, abs=0.005), source


@pytest.mark.parametrize("tolerance", [0.5, 1.0, 2.0])
def test_the_tolerance_lies_on_both_sides_of_nought(tolerance):
    chart = residual_chart(READ, uid="r", tolerance=tolerance)
    heights = {round(late, 2) for _, late in figures(one(chart.under, "tolerance"), chart.plot)}
    assert heights == {tolerance, -tolerance}
    assert chart.plot.up.low < -tolerance
    assert chart.key[-1].text.words == f"within {tolerance:g}°"


def test_a_reading_set_aside_is_ringed_and_left_out_of_the_others():
    chart = residual_chart(READ[:-1], uid="r", set_aside=[(4000, 9.0)])
    assert "a" in one(chart.layers, "set-aside").d
    assert chart.plot.up.high > 9
    assert "Set aside: 9° late at 4000 rpm." in chart.words


def test_a_session_at_one_speed_shows_its_readings_alone():
    chart = residual_chart_of(fit_readings([1000, 1000, 1000], [8, 8.5, 8], [10, 10, 10]), uid="r")
    assert {layer.name for layer in chart.layers} == {"tolerance-edge", "nought", "readings"}
    assert "Fitted" not in chart.words


def test_the_line_of_nought_runs_from_edge_to_edge():
    chart = residual_chart(READ, uid="r")
    (left, y), (right, _) = corners(one(chart.layers, "nought").d)
    assert (left, right) == pytest.approx((chart.plot.left, chart.plot.right))
    assert chart.plot.up.figure(y) == pytest.approx(0, abs=0.02)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"readings": []}, "no strobe reading yet"),
        ({"readings": READ, "tolerance": 0}, "the tolerance must be above 0"),
        ({"readings": [(-1, 0.5)]}, "engine speed cannot be -1 rpm"),
        ({"readings": READ, "line": [(2000, 1), (1000, 1)]}, "the fitted line must rise"),
        ({"readings": [(1000, float("inf"))]}, "the readings must be a finite number"),
    ],
)
def test_what_cannot_be_drawn_is_refused(arguments, message):
    with pytest.raises(TimingError, match=message):
        residual_chart(**arguments, uid="r")


def test_the_refusal_of_an_empty_session_is_the_drawing_s():
    with pytest.raises(ChartError):
        residual_chart([], uid="r")
