"""The strobe's residuals: the worked sessions of the handbook, drawn, against statsmodels."""

from dataclasses import replace

import numpy as np
import pytest
import statsmodels.api as sm

from tests.timing.charts.drawn import corners, figures, one
from tests.timing.charts.inked import ground, lettering, misprinted, said, touches
from tests.timing.strobe.sessions import fine, fit_of
from timing.charts import PRINT, ChartError, residual_chart, residual_chart_of, styles
from timing.charts.findings import outline
from timing.charts.marks import upright_crosses
from timing.charts.page import CAPITAL, GAP
from timing.errors import TimingError

# The worked set S1 of the project's handbook, section 5.
RPM = [900, 1200, 1500, 2000, 2500, 3000, 3500, 4000]
MAP = [10, 12, 15, 20, 24, 27, 29, 30]
S1 = [7.5, 10, 12.5, 17, 21, 23.5, 25, 25.5]
LATE = [expected - read for expected, read in zip(MAP, S1, strict=True)]
READ = list(zip(RPM, LATE, strict=True))


LINE = [(900, 2.1), (4000, 4.1)]
BAND = [(900, 1.6, 2.6), (2000, 2.3, 3.1), (4000, 3.4, 4.9)]


def everything(**look):
    return residual_chart(
        READ[:-1], **{"uid": "r", "line": LINE, "band": BAND, "outliers": [(4000, 9.0), (3000, -1)], **look}
    )


def test_crosses_stand_where_the_readings_are_late():
    chart = residual_chart(READ, uid="r")
    assert one(chart.layers, "readings").d == upright_crosses([chart.plot.at(*reading) for reading in READ])


def test_late_is_up_and_early_is_down():
    chart = residual_chart([(1000, 2.0), (2000, -2.0)], uid="r")
    assert chart.plot.up.at(2.0) < chart.plot.up.at(-2.0)
    ends = {text.text: text.y for text in chart.texts}
    assert ends["late"] < chart.plot.up.at(0) < ends["early"]
    assert "Read: 2° late at 1000, 2° early at 2000 rpm." in chart.description


def test_the_band_of_a_session_is_that_of_statsmodels():
    chart = residual_chart_of(fit_of(RPM, S1, MAP), uid="r")
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
    chart = residual_chart_of(fit_of(RPM, S1, MAP), uid="r")
    line = figures(one(chart.layers, "fitted"), chart.plot)
    assert np.interp(rpm, *zip(*line, strict=True)) == pytest.approx(mean, abs=0.005), source


@pytest.mark.parametrize("tolerance", [0.5, 1.0, 2.0])
def test_the_tolerance_lies_on_both_sides_of_nought(tolerance):
    chart = residual_chart(READ, uid="r", tolerance=tolerance)
    heights = {round(late, 2) for _, late in figures(one(chart.under, "tolerance"), chart.plot)}
    assert heights == {tolerance, -tolerance}
    assert chart.plot.up.low < -tolerance
    assert chart.key[-1].text.text == f"within {tolerance:g}°"


def test_an_outlier_is_ringed_and_left_out_of_the_readings():
    chart = everything()
    places = [chart.plot.at(4000, 9.0), chart.plot.at(3000, -1)]
    rings = "".join(outline("note", *place, half=7.5) for place in places)  # wider than the arms of the cross
    assert one(chart.layers, "outlier").d == upright_crosses(places, arm=4) + rings
    assert chart.plot.up.high > 9
    assert "Outlier: 1° early at 3000, 9° late at 4000 rpm." in chart.description


def test_the_outlier_of_a_session_is_ringed_and_its_other_readings_are_crosses():
    measured = [*S1[:3], S1[3] - 6, *S1[4:]]
    chart = residual_chart_of(fit_of(RPM, measured, MAP), uid="r")
    place = chart.plot.at(2000, LATE[3] + 6)
    assert one(chart.layers, "outlier").d == upright_crosses([place], arm=4) + outline("note", *place, half=7.5)
    others = [chart.plot.at(*reading) for reading in READ if reading[0] != 2000]
    assert one(chart.layers, "readings").d == upright_crosses(others)
    assert "Outlier: 9° late at 2000 rpm." in chart.description


def test_the_likely_range_of_a_session_counts_the_step_of_its_scale():
    tops = []
    for step in (0, 1):
        chart = residual_chart_of(fit_of(RPM, S1, MAP, limits=fine(scale_step_deg=step)), uid="r")
        tops.append(max(late for _, late in figures(one(chart.under, "confidence"), chart.plot)))
    assert tops[1] > tops[0] + 0.05


def test_a_session_at_one_speed_shows_its_readings_alone():
    chart = residual_chart_of(fit_of([1000, 1000, 1000], [8, 8.5, 8], [10, 10, 10]), uid="r")
    assert {layer.name for layer in chart.layers} == {"tolerance-edge", "nought", "readings"}
    assert "Fitted" not in chart.description


def test_every_layer_has_the_pen_of_its_kind():
    chart = everything()
    assert [(layer.name, layer.style, layer.label) for layer in (*chart.under, *chart.layers)] == [
        ("tolerance", styles.area(styles.tolerance(PRINT)), "tolerance"),
        ("confidence", styles.area(styles.confidence(PRINT)), "likely range"),
        ("tolerance-edge", styles.edge(styles.tolerance(PRINT)), ""),
        ("confidence-edge", styles.edge(styles.confidence(PRINT)), ""),
        ("nought", styles.nought(PRINT), ""),
        ("fitted", styles.fitted(PRINT), "fitted"),
        ("outlier", styles.set_aside(PRINT), "outlier"),
        ("readings", styles.measured(PRINT), "reading"),
    ]


def test_the_key_explains_what_is_drawn_and_nothing_else():
    key = {entry.text.text: entry.layer for entry in everything(confidence="80 %").key}
    assert {words: layer.style for words, layer in key.items()} == {
        "reading": styles.measured(PRINT),
        "outlier": styles.set_aside(PRINT),
        "fitted line": styles.fitted(PRINT),
        "likely range": styles.confidence(PRINT),
        "within 1°": styles.tolerance(PRINT),
    }
    assert [key[words].d.count("V") for words in ("reading", "outlier")] == [1, 1]  # crosses
    assert [len(corners(key[words].d)) for words in ("fitted line", "likely range", "within 1°")] == [2, 4, 4]
    few = residual_chart([], uid="r", outliers=[(1000, 2)])
    assert [entry.text.text for entry in few.key] == ["outlier", "within 1°"]
    assert [layer.name for layer in few.layers] == ["tolerance-edge", "nought", "outlier"]


def test_tolerance_and_confidence_are_closed_areas_with_edges_along_their_sides():
    chart = everything(tolerance=1.5)
    plot = chart.plot
    for layer in chart.under:
        assert layer.d.endswith("Z")
    left, right = plot.across.low, plot.across.high
    oblong = [(left, 1.5), (right, 1.5), (right, -1.5), (left, -1.5)]
    sides = [(left, 1.5), (right, 1.5), (left, -1.5), (right, -1.5)]
    around = [(rpm, low) for rpm, low, _ in BAND] + [(rpm, high) for rpm, _, high in reversed(BAND)]
    along = [(rpm, low) for rpm, low, _ in BAND] + [(rpm, high) for rpm, _, high in BAND]
    drawn = ((chart.under[0], oblong), (chart.layers[0], sides), (chart.under[1], around), (chart.layers[1], along))
    for layer, expected in drawn:
        assert np.array(figures(layer, plot)) == pytest.approx(np.array(expected), abs=0.2)
    assert chart.layers[0].d.count("M") == chart.layers[1].d.count("M") == 2


@pytest.mark.parametrize(
    ("highest", "end"),
    [(3299, 3500), (3300, 3500), (3301, 4000), (4000, 4500)],  # 200 rpm beyond the last reading, to a round 500
)
def test_speed_runs_from_nought_to_a_little_beyond_the_last_reading(highest, end):
    for where in ({"readings": [(highest, 1)]}, {"readings": [(900, 1)], "outliers": [(highest, 1)]},
                  {"readings": [(900, 1)], "line": [(900, 1), (highest, 1)]},
                  {"readings": [(900, 1)], "band": [(900, 1, 1), (highest, 1, 1)]}):  # fmt: skip
        across = residual_chart(**where, uid="r").plot.across
        assert (across.low, across.high) == (0, end)


def test_speeds_asked_for_are_kept_and_the_line_of_nought_fills_them():
    chart = everything(rpm_limits=(500, 6500))
    assert (chart.plot.across.low, chart.plot.across.high) == (500, 6500)
    assert [round(rpm) for rpm, _ in figures(one(chart.layers, "nought"), chart.plot)] == [500, 6500]


@pytest.mark.parametrize(
    ("late", "low", "high", "apart"),
    [
        (1, -2, 2, 0.5),  # one and a half of the tolerance to either side, and a tenth of a step
        (1.46, -2, 2, 0.5),
        (2.1, -2, 2.5, 0.5),
        (4.4, -2, 4.5, 0.5),
        (4.46, -2, 5, 0.5),
        (4.6, -2, 5, 1),  # more than six degrees from end to end
        (12.5, -2, 13, 1),
        (12.6, -5, 15, 5),  # more than fourteen
        (-4.6, -5, 2, 1),
    ],
)
def test_degrees_late_are_graduated_as_finely_as_there_is_room(late, low, high, apart):
    chart = residual_chart([(1000, late)], uid="r")
    assert (chart.plot.up.low, chart.plot.up.high) == pytest.approx((low, high))
    fine, strong = chart.panels[0].grid
    for layer, step in ((fine, apart / 5), (strong, apart)):
        heights = [float(part.split("H")[0].split(" ")[1]) for part in layer.d.split("M") if "H" in part]
        late_at = {round(chart.plot.up.value(height), 2) for height in heights}
        assert late_at <= {round(step * index, 2) for index in range(-100, 200)}
        assert min(abs(one - other) for one in late_at for other in late_at if one != other) == pytest.approx(
            step, abs=0.01
        )


@pytest.mark.parametrize(
    ("readings", "tolerance", "low", "high"),
    [
        ([0.5], 2, -3.5, 3.5),  # one and a half of 2 degrees to either side: six, and a tenth of a half
        ([-4.8, 14], 1, -10, 15),  # more than fourteen: steps of five, and a tenth of five to either side
    ],
)
def test_the_axis_leaves_a_tenth_of_a_step_free_over_all_and_under_all(readings, tolerance, low, high):
    up = residual_chart([(1000, late) for late in readings], uid="r", tolerance=tolerance).plot.up
    assert (up.low, up.high) == pytest.approx((low, high))


@pytest.mark.parametrize(
    ("readings", "steps"),
    [([1], 0.5), ([3.4], 0.5), ([0, 4.4], 1), ([-70, 70], 20)],
)
def test_figures_stand_at_every_step_or_at_every_second_or_fourth_where_they_would_crowd(readings, steps):
    chart = residual_chart([(1000, late) for late in readings], uid="r", width=480 if steps == 1 else 720)
    printed = [text.text for text in chart.panels[0].texts if text.text.endswith("°")]
    figures_beside = [float(words.replace("−", "-").rstrip("°")) for words in printed]
    assert np.diff(figures_beside) == pytest.approx([steps] * (len(printed) - 1))
    assert misprinted(chart) == []


@pytest.mark.parametrize("what", ["line", "band", "outliers"])
def test_everything_drawn_has_its_place_on_the_axis_of_degrees(what):
    high = {"line": [(900, 1), (1000, 9)], "band": [(900, 1, 2), (1000, 8, 9)], "outliers": [(900, 9)]}[what]
    low = {"line": [(900, 1), (1000, -9)], "band": [(900, -9, 2)], "outliers": [(900, -9)]}[what]
    assert residual_chart([(1000, 0)], uid="r", **{what: high}).plot.up.high >= 9
    assert residual_chart([(1000, 0)], uid="r", **{what: low}).plot.up.low <= -9


def test_figures_of_the_axis_are_degrees_to_a_half():
    chart = residual_chart([(1000, 1)], uid="r")
    assert {"−2°", "−1.5°", "0°", "0.5°", "2°"} <= {text.text for text in chart.panels[0].texts}
    assert (chart.plot.up_name, chart.plot.across_name) == ("map minus reading, degrees", "crank rpm")


@pytest.mark.parametrize(("width", "height"), [(720, 288), (480, 192), (479, 297), (360, 223)])
def test_the_plot_is_two_fifths_as_high_as_wide_and_taller_on_a_phone(width, height):
    assert everything(width=width).plot.height == pytest.approx(height)


@pytest.mark.parametrize("width", [360, 720])
def test_late_and_early_stand_in_the_corners_where_no_idle_is_slow_enough_to_be_read(width):
    chart = everything(width=width)
    assert (said(chart, "late").y, said(chart, "early").y) == pytest.approx(
        (chart.plot.top + GAP + CAPITAL, chart.plot.bottom - GAP)
    )
    for words in ("late", "early"):
        left, right, _, _ = ground(said(chart, words))
        assert left == pytest.approx(chart.plot.left + GAP)
        assert chart.plot.across.value(right) < 800  # on a phone, an idle of 800 rpm stays clear of it
        assert said(chart, words).css == "chart-name"


@pytest.mark.parametrize("width", [360, 480, 720])
def test_nothing_printed_covers_anything_or_leaves_the_paper(width):
    chart = everything(width=width)
    assert misprinted(chart) == []
    texts = lettering(chart)
    assert not [(a.text, b.text) for i, a in enumerate(texts) for b in texts[:i] if touches(a, b)]


def test_the_drawing_says_what_it_shows():
    chart = residual_chart(
        [(2000, -0.5), (900, 2.5), (1500, 0)], uid="r", line=[LINE[0], (2000, 3), LINE[1]], band=BAND, tolerance=1.5,
        outliers=[(4000, 9.0), (3000, -1)], confidence="80 %",
    )  # fmt: skip
    assert chart.description == (
        "Read: 2.5° late at 900, 0° off at 1500, 0.5° early at 2000 rpm. "  # by speed, whatever the order
        "Outlier: 1° early at 3000, 9° late at 4000 rpm. "
        "Fitted line: 2.1° late at 900, 4.1° late at 4000 rpm. "
        "Likely range of the line (80 %): ±0.8° or better. "  # half of 3.4 to 4.9
        "Tolerance 1.5° either way."
    )
    assert residual_chart([(900, 1)], uid="r").description == "Read: 1° late at 900 rpm. Tolerance 1° either way."


def test_it_bears_its_kind_its_name_and_its_title():
    chart = everything(title="Against the base timing")
    assert (chart.kind, chart.uid, chart.title, chart.width) == ("residual", "r", "Against the base timing", 720)
    assert everything().title == residual_chart_of(fit_of(RPM, S1, MAP), uid="r").title
    assert everything().title == "Strobe readings against the map"


def test_a_session_keeps_the_palette_it_is_given():
    bold = replace(PRINT, ink="#000000")
    chart = residual_chart_of(fit_of(RPM, S1, MAP), uid="r", palette=bold)
    assert chart.palette is bold
    assert one(chart.layers, "readings").style.stroke == "#000000"


def test_a_session_is_drawn_with_its_own_tolerance_confidence_and_look():
    fit = fit_of(RPM, S1, MAP, tolerance=2.5, limits=fine(confidence=0.8))
    chart = residual_chart_of(fit, uid="own", title="Evening session", rpm_limits=(0, 7000), width=400)
    assert (chart.uid, chart.title, chart.width, chart.narrow) == ("own", "Evening session", 400, True)
    assert chart.plot.across.high == 7000
    assert {"likely range", "within 2.5°"} <= {entry.text.text for entry in chart.key}
    assert "Likely range of the line (80 %)" in chart.description
    assert one(chart.layers, "readings").d == upright_crosses([chart.plot.at(*reading) for reading in READ])


def test_the_line_of_nought_runs_from_edge_to_edge():
    chart = residual_chart(READ, uid="r")
    (left, y), (right, level) = corners(one(chart.layers, "nought").d)
    assert y == level
    assert (left, right) == pytest.approx((chart.plot.left, chart.plot.right))
    assert chart.plot.up.value(y) == pytest.approx(0, abs=0.02)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"readings": []}, "^there is nothing to draw: no strobe reading yet$"),
        ({"readings": READ, "outliers": [(1000, float("nan"))]}, "^the outliers must be a finite number"),
        ({"readings": READ, "band": [(900, 2, 1)]}, "^the band of the fitted line has its lowest"),
        ({"readings": READ, "tolerance": "wide"}, "^the tolerance must be a number"),
        ({"readings": [(900, 0)], "outliers": [(-2, 0.5)]}, "^engine speed cannot be -2 rpm$"),
        ({"readings": READ, "band": [(-3, 1, 2)]}, "^engine speed cannot be -3 rpm$"),
        ({"readings": READ, "tolerance": 0}, "^the tolerance must be above 0 degrees"),
        ({"readings": [(-1, 0.5)]}, "engine speed cannot be -1 rpm"),
        ({"readings": READ, "line": [(2000, 1), (1000, 1)]}, "the fitted line must rise"),
        ({"readings": [(1000, float("inf"))]}, "the readings must be a finite number"),
    ],
)
def test_what_cannot_be_drawn_is_refused(arguments, message):
    with pytest.raises(TimingError, match=f"^{message}"):
        residual_chart(**arguments, uid="r")


@pytest.mark.parametrize("rpm", [0, 0.5])
def test_an_engine_that_hardly_turns_can_be_drawn(rpm):
    assert f"1° late at {rpm:.0f} rpm" in residual_chart([(rpm, 1)], uid="r").description


def test_the_refusal_of_an_empty_session_is_the_drawing_s():
    with pytest.raises(ChartError):
        residual_chart([], uid="r")
