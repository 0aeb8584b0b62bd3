"""Scales and graph paper: a figure stands where a ruler would put it."""

import math
import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timing.charts import ChartError, Palette
from timing.charts.palette import PRINT
from timing.charts.paper import Plot, degrees_axis, lay, plain_axis, rpm_axis, width_of
from timing.charts.scale import Scale, figure_text, outward, path, place, round_step
from timing.errors import TimingError

finite = st.floats(-1e5, 1e5, allow_nan=False)


class TestScale:
    @given(
        low=finite, span=st.floats(0.1, 1e4), start=st.floats(0, 100), length=st.floats(10, 900), part=st.floats(-1, 2)
    )
    def test_a_place_leads_back_to_its_figure(self, low, span, start, length, part):
        scale = Scale(low, low + span, start, start + length)
        figure = low + part * span
        assert scale.figure(scale.at(figure)) == pytest.approx(figure, abs=1e-6 * max(1, abs(low) + span))

    def test_figures_rise_up_the_page_where_the_end_lies_above_the_start(self):
        scale = Scale(0, 40, 400, 0)
        assert scale.at(10) == 300
        assert scale.at(40) == 0
        assert scale.per_unit == -10

    @pytest.mark.parametrize(("figure", "expected"), [(-5, 100), (0, 100), (25, 150), (50, 200), (90, 200)])
    def test_a_figure_beyond_the_scale_is_held_at_its_end(self, figure, expected):
        assert Scale(0, 50, 100, 200).held(figure) == expected

    def test_graduations_are_the_multiples_between_the_ends_and_include_both(self):
        assert Scale(0, 30, 0, 1).graduations(10) == (0, 10, 20, 30)
        assert Scale(-3, 12, 0, 1).graduations(5) == (0, 5, 10)

    def test_graduations_of_a_tenth_do_not_gather_rounding(self):
        assert Scale(0, 1, 0, 1).graduations(0.1) == (0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)

    @pytest.mark.parametrize(("gap", "expected"), [(5, 100), (10, 100), (10.1, 500), (51, 1000), (900, 1000)])
    def test_figures_stand_at_the_closest_step_that_leaves_room(self, gap, expected):
        assert Scale(0, 5000, 0, 500).widest_step((1000, 100, 500), gap) == expected

    def test_a_scale_that_runs_downwards_is_refused_with_its_ends(self):
        with pytest.raises(ChartError, match="40 is not below 10"):
            Scale(40, 10, 0, 100)

    def test_a_scale_without_length_or_with_an_endless_end_is_refused(self):
        with pytest.raises(ChartError, match="length on the drawing"):
            Scale(0, 10, 5, 5)
        with pytest.raises(ChartError, match="finite"):
            Scale(0, math.inf, 0, 5)

    def test_a_step_of_nought_is_refused(self):
        with pytest.raises(ChartError, match="above 0, not 0"):
            Scale(0, 10, 0, 5).graduations(0)

    def test_refusals_are_of_the_one_family(self):
        assert issubclass(ChartError, TimingError)


class TestRoundFigures:
    @pytest.mark.parametrize(
        ("low", "high", "step", "expected"),
        [(3, 22, 5, (0, 25)), (0, 25, 5, (0, 25)), (-1, 4, 5, (-5, 5)), (7, 7, 5, (5, 10)), (10, 10, 5, (10, 15))],
    )
    def test_limits_move_outwards_to_whole_steps(self, low, high, step, expected):
        assert outward(low, high, step) == expected

    @given(span=st.floats(1e-3, 1e6), parts=st.integers(2, 12))
    def test_a_round_step_is_one_two_or_five_and_never_gives_too_many_parts(self, span, parts):
        step = round_step(span, parts)
        leading = step / 10 ** math.floor(math.log10(step) + 1e-9)
        assert min(abs(leading - digit) for digit in (1, 2, 5, 10)) < 1e-6
        assert span / step <= parts * (1 + 1e-6)

    @pytest.mark.parametrize(
        ("span", "parts", "expected"), [(70, 8, 10), (22, 8, 5), (4, 6, 1), (1.8, 6, 0.5), (8, 8, 1)]
    )
    def test_a_round_step_is_the_smallest_that_will_do(self, span, parts, expected):
        assert round_step(span, parts) == pytest.approx(expected)  # by hand

    def test_a_span_of_nought_has_no_step(self):
        with pytest.raises(ChartError, match="above 0, not 0"):
            round_step(0, 5)


class TestWritingOut:
    @pytest.mark.parametrize(
        ("value", "expected"),
        [(12.0, "12"), (12.345, "12.35"), (-0.001, "0"), (100.0, "100"), (1e-7, "0"), (0.5, "0.5")],
    )
    def test_a_place_is_short_and_has_no_exponent(self, value, expected):
        assert place(value) == expected

    @pytest.mark.parametrize(
        ("value", "decimals", "expected"),
        [(-2.0, 1, "−2"), (12.25, 1, "12.2"), (-0.04, 1, "0"), (1500, 0, "1500"), (0.8, 0, "1")],
    )
    def test_a_figure_is_printed_with_a_true_minus_and_no_idle_nought(self, value, decimals, expected):
        assert figure_text(value, decimals) == expected

    def test_a_path_joins_its_points_and_closes_if_asked(self):
        assert path([(0, 0), (10, 5.5)]) == "M0 0L10 5.5"
        assert path([(0, 0), (1, 0), (1, 1)], closed=True) == "M0 0L1 0L1 1Z"
        assert path([]) == ""


class TestGraphPaper:
    def paper(self, width=700.0, height=400.0, rpm=(0, 6000), degrees=(0, 40)):
        across, up = rpm_axis(*rpm), degrees_axis(*degrees, "degrees of crank")
        plot = Plot(Scale(*rpm, 40, 40 + width), Scale(*degrees, 30 + height, 30), across.name, up.name)
        return lay(plot, across, up, PRINT)

    @staticmethod
    def upright(layer):
        return [float(x) for x in re.findall(r"M([\d.]+) [\d.]+V", layer.d)]

    @staticmethod
    def level(layer):
        return [float(y) for y in re.findall(r"M[\d.]+ ([\d.]+)H", layer.d)]

    def test_strong_graduations_stand_every_500_rpm_and_5_degrees(self):
        paper = self.paper()
        _, strong = paper.grid
        assert [round(paper.plot.across.figure(x)) for x in self.upright(strong)] == list(range(0, 6001, 500))
        assert [round(paper.plot.up.figure(y)) for y in self.level(strong)] == list(range(0, 41, 5))

    def test_fine_graduations_stand_every_100_rpm_and_1_degree_between_them(self):
        paper = self.paper()
        fine, _ = paper.grid
        speeds = [round(paper.plot.across.figure(x)) for x in self.upright(fine)]
        heights = [round(paper.plot.up.figure(y)) for y in self.level(fine)]
        assert speeds == [rpm for rpm in range(0, 6001, 100) if rpm % 500]
        assert heights == [deg for deg in range(41) if deg % 5]

    def test_fine_graduations_are_left_out_where_they_would_run_together(self):
        fine, _ = self.paper(width=180.0).grid  # 3 units of the drawing for 100 rpm
        assert self.upright(fine) == []
        assert self.level(fine)

    def test_figures_along_the_bottom_never_touch(self):
        for width in (200.0, 320.0, 700.0):
            texts = [text for text in self.paper(width=width).texts if text.anchor == "middle"]
            ends = [(text.x - width_of(text.words) / 2, text.x + width_of(text.words) / 2) for text in texts]
            assert len(ends) >= 3
            assert all(before[1] < after[0] for before, after in pairwise(ends))

    def test_every_axis_is_named_at_its_end(self):
        names = {text.words: text for text in self.paper().texts if text.css == "chart-name"}
        assert names["crank rpm"].anchor == "end"
        assert names["crank rpm"].x == 740
        assert names["degrees of crank"].y < 30

    def test_degrees_carry_their_sign_and_speeds_do_not(self):
        words = {text.words for text in self.paper().texts}
        assert {"0°", "40°", "6000"} <= words
        assert "6000°" not in words

    @pytest.mark.parametrize(
        ("high", "strong", "fine", "decimals"), [(70, 10, 2, 0), (2, 0.5, 0.1, 1), (16, 2, 0.5, 0), (40, 5, 1, 0)]
    )
    def test_other_quantities_are_graduated_at_round_steps(self, high, strong, fine, decimals):
        axis = plain_axis(0, high, "dwell, ms")
        assert (axis.strong, axis.fine, axis.decimals) == pytest.approx((strong, fine, decimals))


def test_the_palette_has_a_legible_colour_for_the_figure_on_every_shade():
    assert isinstance(PRINT, Palette)
    assert len(PRINT.shades) == len(PRINT.on_shades) >= 8
