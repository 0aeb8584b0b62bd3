"""The dwell budget: what is asked for, what fits, what energy is left, over the speed."""

import math

import numpy as np
import pytest

from tests.timing.charts.budgets import COIL_A, budget_chart, drawn, layers, supply
from tests.timing.charts.drawn import corners, figures, one
from tests.timing.charts.inked import misprinted, said, touches
from timing.charts import PRINT, Supply, dwell_chart, styles
from timing.charts.page import CAPITAL, GAP, width_of
from timing.coil import Voltages, budgets_by_supply
from timing.errors import TimingError


class TestCranking:
    """Issue 10.4: the line of cranking ends at cranking speed, common practice, about 400 rpm."""

    def chart(self, **look):
        found = budgets_by_supply(
            COIL_A, 4, 5.0, 1.0, rpm=[100, 3000, 6500], voltages=Voltages(9.0, 12.6, 14.2), cranking_rpm=400
        )
        supplies = [Supply(one.name, one.volts, 5.0, one.budget.on_ms, one.budget.energy_mj) for one in found.lines]
        return dwell_chart(found.rpm, supplies, uid="d", **look)

    def test_the_line_of_cranking_ends_at_cranking_speed(self):
        chart = self.chart()
        ends = [figures(layer, chart.panels[1].plot)[-1][0] for layer in layers(chart, "energy")]
        assert ends == pytest.approx([400, 6500, 6500], abs=1)

    def test_a_line_that_ends_early_is_named_in_the_key_and_not_at_the_right(self):
        chart = self.chart()
        assert "cranking 9 V" in {entry.text.text for entry in chart.key}
        assert "cranking 9 V" not in {text.text for text in chart.texts}
        assert "resting 12.6 V" in {text.text for text in chart.texts}

    def test_one_dwell_for_all_is_drawn_once(self):
        assert len(layers(self.chart(), "fits")) == 1

    def test_it_is_described_up_to_where_it_ends(self):
        assert "5 ms at 400 rpm; " in self.chart().description
        assert "mJ at 400 rpm. Resting" in self.chart().description

    def test_what_does_not_fit_is_shaded_no_further_than_the_line(self):
        chart = dwell_chart([300, 400, 6000], [supply(on=(3.0, 3.0), energy=(9, 9))], uid="d")
        places = [(round(rpm), round(ms, 1)) for rpm, ms in figures(one(chart.under, "short"), chart.panels[0].plot)]
        assert places == [(300, 3.0), (400, 3.0), (400, 3.5), (300, 3.5)]

    @pytest.mark.parametrize("on", [(3.5,), (3.5, 3.5, 3.5)])
    def test_one_figure_is_no_line_and_more_than_speeds_are_too_many(self, on):
        with pytest.raises(TimingError, match=f"has {len(on)} figures for 2 speeds"):
            drawn(supply(on=on, energy=on))


class TestWhatFits:
    @pytest.mark.parametrize(("cylinders", "limit"), [(6, 4444.4), (8, 3333.3)])  # handbook section 6: 3.5 + 1.0 ms
    def test_the_dwell_that_fits_leaves_the_one_asked_for_at_the_limit_speed(self, cylinders, limit):
        chart = budget_chart(cylinders, 3.5)
        fits = figures(one(chart.layers, "fits"), chart.panels[0].plot)
        short = [rpm for rpm, on in fits if on < 3.49]
        assert min(short) - 100 <= limit <= min(short) + 1
        assert f"dwell fits up to {limit:.0f}" in {text.text for text in chart.texts}

    def test_what_does_not_fit_is_shaded_between_the_two_lines(self):
        chart = drawn()
        short = one(chart.under, "short")
        places = [(round(rpm), round(ms, 1)) for rpm, ms in figures(short, chart.panels[0].plot)]
        assert places == [(1000, 3.5), (5800, 2.0), (5800, 3.5), (1000, 3.5)]
        assert short.d.endswith("Z")
        assert (short.style, short.label) == (styles.short_of(PRINT), "does not fit")

    def test_a_four_needs_no_caution_in_its_range(self):
        chart = budget_chart(4, 3.5)  # handbook section 6: fits to 6666.7 rpm
        assert chart.under == ()
        assert "does not fit" not in {entry.text.text for entry in chart.key}

    def test_a_supply_that_falls_short_is_shaded_behind_one_that_does_not(self):
        chart = drawn(supply(on=(3.5, 3.5)), supply("charging", 14.2, asked=3.0, on=(3.0, 2.9)))
        assert len(chart.under) == 1
        assert "does not fit" in {entry.text.text for entry in chart.key}

    def test_asked_for_and_fitting_are_drawn_level_and_along_the_speeds(self):
        chart = drawn()
        upper = chart.panels[0].plot
        asked = one(chart.layers, "asked")
        (left, y), (right, level) = corners(asked.d)
        assert (left, right) == pytest.approx((upper.left, upper.right))
        assert y == level == pytest.approx(upper.up.at(3.5), abs=0.01)
        assert (asked.style, asked.label) == (styles.target(PRINT), "asked for")
        fits = figures(one(chart.layers, "fits"), upper)
        assert [(round(rpm), round(ms, 1)) for rpm, ms in fits] == [(1000, 3.5), (5800, 2.0)]

    def test_the_same_dwell_at_every_voltage_is_one_line_in_the_full_pen(self):
        fits = one(budget_chart(6, 3.5).layers, "fits")
        assert fits.style == styles.supply(PRINT, 1)

    def test_a_dwell_of_its_own_at_each_voltage_has_a_line_and_a_pen_of_its_own(self):
        chart = budget_chart(6, [5.5, 3.5, 3.0])
        assert [layer.style for layer in layers(chart, "fits")] == [styles.supply(PRINT, which) for which in range(3)]
        assert [layer.label for layer in layers(chart, "fits")] == ["cranking 9 V", "running 12.8 V", "charging 14.2 V"]
        heights = [figures(layer, chart.panels[0].plot)[0][1] for layer in layers(chart, "asked")]
        assert heights == pytest.approx([5.5, 3.5, 3.0], abs=0.03)

    def test_a_dwell_met_again_at_the_highest_voltage_is_not_drawn_twice(self):
        twin = [supply(name, volts, asked=asked, on=(asked, 2.0)) for name, volts, asked in
                (("cranking", 9, 5.5), ("running", 12.8, 3.5), ("charging", 14.2, 5.5))]  # fmt: skip
        assert [layer.label for layer in layers(drawn(*twin), "fits")] == ["cranking 9 V", "running 12.8 V"]

    def test_two_voltages_apart_have_their_own_pens(self):
        chart = drawn(supply("cranking", 9, asked=5.0, on=(5.0, 2.0)), supply())
        assert [layer.style for layer in layers(chart, "fits")] == [styles.supply(PRINT, 0), styles.supply(PRINT, 1)]

    def test_another_dwell_asked_for_is_another_line_though_the_same_fits(self):
        chart = drawn(supply("cranking", 9, asked=5.0, on=(3.0, 2.0)), supply(asked=4.0, on=(3.0, 2.0)))
        assert len(layers(chart, "asked")) == 2


class TestEnergy:
    def test_energy_stands_on_the_lower_plot_at_every_voltage(self):
        chart = budget_chart(4, 3.5)
        upper, lower = (panel.plot for panel in chart.panels)
        assert upper.bottom < lower.top
        assert (upper.left, upper.right) == (lower.left, lower.right)
        energy = [figures(layer, lower) for layer in layers(chart, "energy")]
        # E = L I²/2 with I from the RL charge over 3.5 ms, by hand: R 3, L 8 mH.
        for line, volts in zip(energy, (9.0, 12.8, 14.2), strict=True):
            current = volts / 3.0 * (1 - math.exp(-3.5 * 3.0 / 8.0))
            assert line[0][1] == pytest.approx(0.5 * 8.0 * current**2, abs=0.1)

    def test_every_voltage_has_the_pen_of_its_rank(self):
        energy = layers(budget_chart(4, 3.5), "energy")
        assert [layer.style for layer in energy] == [styles.supply(PRINT, which) for which in range(3)]
        assert [layer.label for layer in energy] == ["cranking 9 V", "running 12.8 V", "charging 14.2 V"]

    def test_ordinary_and_weak_energy_are_lines_of_caution_across_the_lower_plot(self):
        chart = drawn(ordinary_mj=32, least_mj=14)
        lower = chart.panels[1].plot
        for name, mj in (("ordinary", 32), ("least", 14)):
            line = one(chart.layers, name)
            assert line.style == styles.threshold(PRINT)
            (left, y), (right, level) = corners(line.d)
            assert (left, right) == pytest.approx((lower.left, lower.right))
            assert y == level == pytest.approx(lower.up.at(mj), abs=0.01)

    def test_their_names_say_which_side_is_meant_by_the_side_they_stand_on(self):
        chart = drawn()
        lower = chart.panels[1].plot
        over, under = said(chart, "ordinary from 30 mJ"), said(chart, "weak below 15 mJ")  # handbook section 6
        assert lower.up.at(30) - over.y == pytest.approx(GAP, abs=0.01)
        assert under.y - CAPITAL - lower.up.at(15) == pytest.approx(GAP, abs=0.01)
        for text in (over, under):
            assert (text.x, text.anchor, text.css) == (round(lower.left + GAP, 2), "start", "chart-threshold-name")
            assert text.y == round(text.y, 2)
        odd = drawn(ordinary_mj=31.7, width=701.37)
        assert all((text.x, text.y) == (round(text.x, 2), round(text.y, 2)) for text in odd.texts)

    def test_one_figure_for_both_has_its_names_on_both_sides(self):
        chart = drawn(ordinary_mj=20, least_mj=20)
        assert not touches(said(chart, "ordinary from 20 mJ"), said(chart, "weak below 20 mJ"))

    def test_a_threshold_that_nobody_set_is_not_drawn(self):
        assert layers(drawn(ordinary_mj=None), "ordinary") == []
        chart = drawn(least_mj=None)
        assert layers(chart, "least") == []
        assert not [text for text in chart.texts if "weak" in text.text]
        assert layers(chart, "ordinary")


class TestAxes:
    def test_axes_are_named_with_their_unit_and_speed_stands_under_both_plots_once(self):
        chart = drawn()
        upper, lower = chart.panels
        assert (upper.plot.up_name, lower.plot.up_name) == ("dwell, ms", "energy at the spark, mJ")
        assert [text.text for text in upper.texts].count("crank rpm") == 0
        assert [text.text for text in lower.texts].count("crank rpm") == 1

    @pytest.mark.parametrize(
        ("asked", "on", "top"),
        [(3.5, 3.5, 4), (3.3, 3.3, 4), (3.8, 3.8, 4), (3.9, 3.9, 5), (0.9, 0.9, 1), (3.0, 3.9, 5), (3.9, 3.0, 5)],
    )
    def test_dwell_begins_at_nought_and_ends_at_a_round_figure_above_all(self, asked, on, top):
        up = drawn(supply(asked=asked, on=(on, on))).panels[0].plot.up
        assert (up.low, up.high) == pytest.approx((0, top))

    @pytest.mark.parametrize(
        ("energy", "thresholds", "top"),
        [(36, {}, 40), (20, {}, 35), (20, {"ordinary_mj": None}, 25), (20, {"ordinary_mj": 55}, 60),
         (8, {"ordinary_mj": None}, 20), (8, {"ordinary_mj": None, "least_mj": None}, 10)],
    )  # fmt: skip
    def test_energy_shows_the_strongest_and_what_it_is_measured_against(self, energy, thresholds, top):
        up = drawn(supply(energy=(energy, 5)), **thresholds).panels[1].plot.up
        assert (up.low, up.high) == pytest.approx((0, top))

    def test_the_strongest_of_all_supplies_counts(self):
        chart = drawn(supply("a", 9, energy=(70, 1)), supply("b", 12, energy=(30, 1)))
        assert chart.panels[1].plot.up.high >= 70
        chart = drawn(supply("a", 9, asked=8, on=(8, 1)), supply("b", 12))
        assert chart.panels[0].plot.up.high >= 8

    def test_both_axes_have_six_strong_graduations_or_fewer(self):
        chart = drawn()  # to 4 ms and to 40 mJ
        tall = drawn(supply(energy=(20, 5)))  # to 35 mJ
        for panel, step in ((chart.panels[0], 1), (chart.panels[1], 10), (tall.panels[1], 10)):
            level = [part.split("H")[0].split(" ")[1] for part in panel.grid[1].d.split("M") if "H" in part]
            heights = [panel.plot.up.value(float(y)) for y in level]
            assert heights == pytest.approx([step * index for index in range(len(heights))], abs=0.03 * step)

    @pytest.mark.parametrize(
        ("marked", "end"),
        [({}, 6000), ({"rev_limit_rpm": 6200}, 6500), ({"red_line_rpm": 6700}, 7000)],
    )
    def test_speed_runs_from_nought_to_the_next_round_figure_over_all_speeds_marked(self, marked, end):
        across = drawn(**marked).panels[0].plot.across
        assert (across.low, across.high) == (0, end)

    def test_a_limit_far_above_the_speeds_drawn_does_not_crush_them(self):
        chart = drawn(limit_rpm=16000)
        assert chart.panels[0].plot.across.high == 6000
        assert chart.rules == ()
        assert "The whole dwell fits up to 16000 rpm." in chart.description
        assert len(drawn(limit_rpm=6000).rules) == 2

    @pytest.mark.parametrize(("width", "height"), [(720, 194), (1000, 270), (480, 130), (360, 180)])
    def test_both_plots_are_equally_high_and_taller_for_their_width_on_a_phone(self, width, height):
        chart = drawn(width=width)
        assert [panel.plot.height for panel in chart.panels] == pytest.approx([height, height])

    def test_the_longer_figures_of_either_plot_have_their_room(self):
        for chart in (drawn(supply(asked=0.9, on=(0.9, 0.2))), drawn(supply(energy=(900, 100)))):
            figures_beside = [
                text
                for panel in chart.panels
                for text in panel.texts
                if text.anchor == "end" and text.text != "crank rpm"
            ]
            assert all(text.x - width_of(text.text) >= 3 for text in figures_beside)
            assert misprinted(chart) == []


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: dwell_chart([1000, 2000], [], uid="d"), "^there is nothing to draw: no supply voltage$"),
        (lambda: dwell_chart([1000], [Supply("x", 12, 3, [3], [30])], uid="d"), "^the dwell budget needs two or more"),
        (lambda: dwell_chart([[1000, 2000]], [supply()], uid="d"), "the dwell budget needs two or more rising speeds$"),
        (lambda: dwell_chart([2000, 1000], [supply()], uid="d"), "the dwell budget needs two or more rising speeds"),
        (lambda: dwell_chart([1000, 1000], [supply()], uid="d"), "the dwell budget needs two or more rising speeds"),
        (lambda: dwell_chart([-1, 1000], [supply()], uid="d"), "^engine speed must be 0 rpm or more"),
        (lambda: dwell_chart([1000, 2000], [supply(on=[3], energy=[9])], uid="d"), "^running 12.8 V has 1 figure"),
        (lambda: dwell_chart([1000, 2000], [supply()], uid="a b"), "the name of a drawing"),
        (lambda: Supply("x", 12.5, 3, [3, 3], [30]), "^at 12.5 V there must be one dwell and one energy for each sp"),
        (lambda: Supply("x", 12, 3, [[3]], [[30]]), "at 12 V there must be one dwell and one energy"),
        (lambda: Supply("x", 12, 3, [-3], [30]), "^the dwell that fits at 12 V must be 0 ms or more"),
        (lambda: Supply("x", 12, 3, [3], [-30]), "^the energy at 12 V must be 0 mJ or more"),
        (lambda: Supply("x", 0, 3, [3], [30]), "^the supply voltage must be above 0 V"),
        (lambda: Supply("x", 12, 0, [3], [30]), "^the requested dwell must be above 0 ms"),
    ],
)  # fmt: skip
def test_what_cannot_be_drawn_is_refused(make, message):
    with pytest.raises(TimingError, match=f"^{message}"):
        make()


def test_a_supply_keeps_what_it_was_given_as_plain_figures():
    made = Supply("running", 12.8, 3, np.array([3, 0]), np.array([30, 0]))
    assert (made.name, made.volts, made.asked_ms) == ("running", 12.8, 3.0)
    assert (made.on_ms, made.energy_mj) == ((3.0, 0.0), (30.0, 0.0))
    assert all(type(figure) is float for figure in (*made.on_ms, *made.energy_mj))
