"""Scales and graph panel: a figure stands where a ruler would put it."""

import math
import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.timing.charts.drawn import NUMBER, corners
from timing.charts import ChartError, Palette, styles
from timing.charts.page import (
    ASIDE,
    CENTRED,
    HEAD,
    INSET,
    LETTER,
    LETTER_WIDTH,
    LINE,
    MARGIN,
    Plot,
    degrees_axis,
    panel_of,
    plain_axis,
    rpm_axis,
    width_of,
)
from timing.charts.palette import PRINT
from timing.charts.scale import CLOSEST_GRADUATION, Scale, figure_text, outward, path, place, round_step
from timing.errors import TimingError

finite = st.floats(-1e5, 1e5, allow_nan=False)


class TestScale:
    @given(
        low=finite, span=st.floats(0.1, 1e4), start=st.floats(0, 100), length=st.floats(10, 900), part=st.floats(-1, 2)
    )
    def test_a_place_leads_back_to_its_figure(self, low, span, start, length, part):
        scale = Scale(low, low + span, start, start + length)
        figure = low + part * span
        assert scale.value(scale.at(figure)) == pytest.approx(figure, abs=1e-6 * max(1, abs(low) + span))

    def test_figures_rise_up_the_page_where_the_end_lies_above_the_start(self):
        scale = Scale(0, 40, 400, 0)
        assert scale.at(10) == 300
        assert scale.at(40) == 0
        assert scale.per_unit == -10

    @pytest.mark.parametrize(("figure", "expected"), [(-5, 100), (0, 100), (25, 150), (50, 200), (90, 200)])
    def test_a_figure_beyond_the_scale_is_held_at_its_end(self, figure, expected):
        assert Scale(0, 50, 100, 200).clamped(figure) == expected

    def test_graduations_are_the_multiples_between_the_ends_and_include_both(self):
        assert Scale(0, 30, 0, 1).graduations(10) == (0, 10, 20, 30)
        assert Scale(-3, 12, 0, 1).graduations(5) == (0, 5, 10)
        assert Scale(-12, -3, 0, 1).graduations(5) == (-10, -5)

    def test_graduations_of_a_tenth_do_not_gather_rounding(self):
        assert Scale(0, 1, 0, 1).graduations(0.1) == (0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)

    @pytest.mark.parametrize(
        ("low", "high", "step", "expected"),
        [
            (0, 0.3, 0.1, (0, 0.1, 0.2, 0.3)),  # 0.3 / 0.1 comes out just below 3
            (1.1, 1.3, 0.1, (1.1, 1.2, 1.3)),  # 1.1 / 0.1 comes out just above 11
        ],
    )
    def test_an_end_on_a_graduation_is_not_lost_to_rounding(self, low, high, step, expected):
        assert Scale(low, high, 0, 1).graduations(step) == expected

    @pytest.mark.parametrize(("gap", "expected"), [(5, 100), (10, 100), (10.1, 500), (51, 1000), (900, 1000)])
    def test_figures_stand_at_the_closest_step_that_leaves_room(self, gap, expected):
        assert Scale(0, 5000, 0, 500).widest_step((1000, 100, 500), gap) == expected

    def test_a_gap_is_as_wide_on_a_scale_that_rises_up_the_page(self):
        assert Scale(0, 40, 400, 0).widest_step((1, 5, 10), 26) == 5  # 10 units of the drawing for a degree

    @pytest.mark.parametrize(("low", "high"), [(40, 10), (10, 10)])
    def test_a_scale_that_does_not_rise_is_refused_with_its_ends(self, low, high):
        with pytest.raises(ChartError, match=f"^a scale runs upwards: {low} is not below {high}$"):
            Scale(low, high, 0, 100)

    def test_a_scale_without_length_is_refused(self):
        with pytest.raises(ChartError, match=r"^a scale needs a length on the drawing$"):
            Scale(0, 10, 5, 5)

    @pytest.mark.parametrize("which", range(4))
    @pytest.mark.parametrize("endless", [math.inf, -math.inf, math.nan])
    def test_a_scale_with_an_endless_end_is_refused(self, which, endless):
        ends = [0.0, 10.0, 0.0, 5.0]
        ends[which] = endless
        with pytest.raises(ChartError, match=r"^a scale needs finite ends$"):
            Scale(*ends)

    @pytest.mark.parametrize("step", [0, -5])
    def test_a_step_of_nought_or_less_is_refused(self, step):
        with pytest.raises(ChartError, match=f"^graduations need a step above 0, not {step}$"):
            Scale(0, 10, 0, 5).graduations(step)

    def test_refusals_are_of_the_one_family(self):
        assert issubclass(ChartError, TimingError)


class TestRoundFigures:
    @pytest.mark.parametrize(
        ("low", "high", "step", "expected"),
        [(3, 22, 5, (0, 25)), (0, 25, 5, (0, 25)), (-1, 4, 5, (-5, 5)), (7, 7, 5, (5, 10)), (10, 10, 5, (10, 15))],
    )
    def test_limits_move_outwards_to_whole_steps(self, low, high, step, expected):
        assert outward(low, high, step) == expected

    @pytest.mark.parametrize(
        ("low", "high", "step", "expected"),
        [(0.3, 1.0, 0.1, (0.3, 1.0)), (0, 1.1, 0.1, (0, 1.1))],  # 0.3 / 0.1 is just below 3, 1.1 / 0.1 just above 11
    )
    def test_limits_on_a_step_stay_where_they_are_in_spite_of_rounding(self, low, high, step, expected):
        assert outward(low, high, step) == pytest.approx(expected)

    @given(span=st.floats(1e-3, 1e6), parts=st.integers(2, 12))
    def test_a_round_step_is_one_two_or_five_and_never_gives_too_many_parts(self, span, parts):
        step = round_step(span, parts)
        leading = step / 10 ** math.floor(math.log10(step) + 1e-9)
        assert min(abs(leading - digit) for digit in (1, 2, 5, 10)) < 1e-6
        assert span / step <= parts * (1 + 1e-6)

    @pytest.mark.parametrize(
        ("span", "parts", "expected"),
        [
            (70, 8, 10),
            (22, 8, 5),
            (4, 6, 1),
            (1.8, 6, 0.5),
            (8, 8, 1),
            (16, 8, 2),
            (40, 8, 5),
            (0.07, 7, 0.01),
            (3e4, 10, 5e3),
        ],
    )
    def test_a_round_step_is_the_smallest_that_will_do(self, span, parts, expected):
        assert round_step(span, parts) == pytest.approx(expected)  # by hand

    def test_a_span_of_nought_has_no_step(self):
        with pytest.raises(ChartError, match=r"^a step needs a span above 0, not 0$"):
            round_step(0, 5)

    def test_a_step_is_not_doubled_by_rounding(self):
        assert round_step(0.05 + 0.05 + 0.05, 3) == pytest.approx(0.05)  # the sum is just above 0.15


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

    def test_a_figure_has_a_tenth_unless_told_otherwise(self):
        assert figure_text(12.25) == "12.2"
        assert figure_text(-0.3, 0) == "0"  # no minus nought


class TestAxes:
    def test_speeds_are_lettered_every_500_1000_2000_or_5000_rpm(self):
        axis = rpm_axis(0, 6000)
        assert (axis.low, axis.high, axis.name) == (0, 6000, "crank rpm")
        assert axis.figures == (500, 1000, 2000, 5000)
        assert rpm_axis(0, 6000, "distributor rpm").name == "distributor rpm"

    def test_degrees_are_lettered_every_5_10_or_20_with_their_sign(self):
        axis = degrees_axis(-5, 40, "degrees of crank")
        assert (axis.low, axis.high, axis.name) == (-5, 40, "degrees of crank")
        assert (axis.figures, axis.suffix) == ((5, 10, 20), "°")

    @pytest.mark.parametrize(
        ("high", "strong", "fine", "decimals"),
        [
            (70, 10, 2, 0),
            (2, 0.5, 0.1, 1),
            (16, 2, 0.5, 0),
            (40, 5, 1, 0),
            (9, 2, 0.5, 0),
            (8, 1, 0.2, 0),
            (0.8, 0.1, 0.02, 1),
            (0.4, 0.05, 0.01, 2),
        ],
    )
    def test_other_quantities_are_graduated_at_round_steps(self, high, strong, fine, decimals):
        axis = plain_axis(0, high, "dwell, ms")
        assert (axis.strong, axis.fine, axis.decimals) == pytest.approx((strong, fine, decimals))

    def test_other_quantities_are_lettered_at_every_strong_graduation_or_every_second_or_fourth(self):
        axis = plain_axis(50, 120, "share", parts=4, suffix=" %")
        assert (axis.low, axis.high, axis.name, axis.suffix) == (50, 120, "share", " %")
        assert axis.figures == (20, 40, 80)  # 70 in 4 parts or fewer
        assert plain_axis(50, 120, "share").suffix == ""


class TestGraphPaper:
    def panel(self, width=700.0, height=400.0, rpm=(0, 6000), degrees=(0, 40), **more):
        across, up = rpm_axis(*rpm), degrees_axis(*degrees, "degrees of crank")
        plot = Plot(Scale(*rpm, 40, 40 + width), Scale(*degrees, 30 + height, 30), across.name, up.name)
        return panel_of(plot, across, up, PRINT, **more)

    @staticmethod
    def ruled(layer):
        """Places of the upright and of the level graduations, and the ends they all run to."""
        assert re.fullmatch(rf"(?:M{NUMBER} {NUMBER}[VH]{NUMBER})*", layer.d)
        upright = re.findall(rf"M({NUMBER}) ({NUMBER})V({NUMBER})", layer.d)
        level = re.findall(rf"M({NUMBER}) ({NUMBER})H({NUMBER})", layer.d)
        return (
            [float(x) for x, _, _ in upright],
            [float(y) for _, y, _ in level],
            {(float(top), float(bottom)) for _, top, bottom in upright},
            {(float(left), float(right)) for left, _, right in level},
        )

    @staticmethod
    def along(panel):
        return [text for text in panel.texts if text.css == "chart-figure" and text.anchor == "middle"]

    @staticmethod
    def beside(panel):
        return [text for text in panel.texts if text.css == "chart-figure" and text.anchor == "end"]

    def test_strong_graduations_stand_every_500_rpm_and_5_degrees_from_edge_to_edge(self):
        panel = self.panel()
        _, strong = panel.grid
        upright, level, heights, widths = self.ruled(strong)
        assert [round(panel.plot.across.value(x)) for x in upright] == list(range(0, 6001, 500))
        assert [round(panel.plot.up.value(y)) for y in level] == list(range(0, 41, 5))
        assert heights == {(30, 430)}
        assert widths == {(40, 740)}

    def test_fine_graduations_stand_every_100_rpm_and_1_degree_between_them(self):
        panel = self.panel()
        fine, _ = panel.grid
        upright, level, _, _ = self.ruled(fine)
        speeds = [round(panel.plot.across.value(x)) for x in upright]
        assert speeds == [rpm for rpm in range(0, 6001, 100) if rpm % 500]
        assert [round(panel.plot.up.value(y)) for y in level] == [deg for deg in range(41) if deg % 5]

    def test_fine_graduations_are_left_out_where_they_would_run_together(self):
        upright, level, _, _ = self.ruled(self.panel(width=180.0).grid[0])  # 3 units of the drawing for 100 rpm
        assert upright == []
        assert level

    @pytest.mark.parametrize(("height", "drawn"), [(140, True), (139, False)])
    def test_fine_graduations_may_stand_as_close_as_three_units_and_a_half(self, height, drawn):
        assert CLOSEST_GRADUATION == 3.5
        _, level, _, _ = self.ruled(self.panel(height=height).grid[0])  # 40 degrees
        assert bool(level) == drawn

    def test_fine_and_strong_graduations_have_their_pens_and_names(self):
        fine, strong = self.panel().grid
        assert (fine.name, fine.style) == ("fine", styles.fine(PRINT))
        assert (strong.name, strong.style) == ("strong", styles.strong(PRINT))

    def test_the_frame_runs_down_the_left_and_along_the_bottom(self):
        frame = self.panel().frame
        assert corners(frame.d) == [(40, 30), (40, 430), (740, 430)]
        assert (frame.name, frame.style) == ("frame", styles.axis(PRINT))

    def test_a_pair_of_figures_stands_where_both_axes_say(self):
        plot = self.panel().plot
        assert plot.at(3000, 10) == (390, 330)
        assert (plot.left, plot.right, plot.top, plot.bottom) == (40, 740, 30, 430)
        assert (plot.width, plot.height) == (700, 400)

    def test_figures_along_the_bottom_never_touch(self):
        for width in (200.0, 320.0, 700.0):
            ends = [
                (text.x - width_of(text.text) / 2, text.x + width_of(text.text) / 2)
                for text in self.along(self.panel(width=width))
            ]
            assert len(ends) >= 3
            assert all(before[1] < after[0] for before, after in pairwise(ends))

    @pytest.mark.parametrize(("width", "step"), [(700, 500), (581, 500), (580, 1000), (380, 1000), (200, 2000)])
    def test_figures_along_the_bottom_stand_under_their_graduations_two_letters_apart(self, width, step):
        panel = self.panel(width=width)
        texts = self.along(panel)
        assert [text.text for text in texts] == [str(rpm) for rpm in range(0, 6001, step)]
        for text in texts[:-1]:
            assert text.x == pytest.approx(panel.plot.across.at(float(text.text)), abs=0.006)
        room = width_of("6000") + width_of("00")
        assert texts[1].x - texts[0].x >= room
        assert not any(  # no closer step would have had the room
            closer < step and closer * panel.plot.across.per_unit >= room for closer in (500, 1000, 2000)
        )

    def test_the_last_figure_stays_on_the_drawing(self):
        for high in (6000, 12_000):
            panel = self.panel(rpm=(0, high))
            last = self.along(panel)[-1]
            half = width_of(last.text) / 2
            assert last.x == pytest.approx(min(740, 740 + MARGIN - half), abs=0.006)

    def test_figures_beside_the_plot_are_level_with_their_graduations(self):
        panel = self.panel(degrees=(-10, 30))
        texts = self.beside(panel)
        assert [text.text for text in texts] == ["−10°", "−5°", "0°", "5°", "10°", "15°", "20°", "25°", "30°"]
        for text, degrees in zip(texts, range(-10, 31, 5), strict=True):
            assert text.x == 40 - ASIDE
            assert text.y - CENTRED == pytest.approx(panel.plot.up.at(degrees), abs=0.006)

    @pytest.mark.parametrize(("height", "step"), [(240, 5), (208, 5), (207, 10), (103, 20)])
    def test_figures_beside_the_plot_are_two_lines_apart_or_further(self, height, step):
        texts = self.beside(self.panel(height=height))
        assert [text.text for text in texts] == [f"{degrees}°" for degrees in range(0, 41, step)]

    def test_figures_have_the_decimals_of_their_axis_and_its_suffix(self):
        up = plain_axis(0, 0.15, "gap", parts=3, suffix=" mm")
        plot = Plot(Scale(0, 6000, 40, 740), Scale(0, 0.15, 430, 30), "crank rpm", up.name)
        words = [text.text for text in self.beside(panel_of(plot, rpm_axis(0, 6000), up, PRINT))]
        assert words == ["0 mm", "0.05 mm", "0.1 mm", "0.15 mm"]

    def test_every_axis_is_named_at_its_end(self):
        names = {text.text: text for text in self.panel().texts if text.css == "chart-name"}
        along, up = names["crank rpm"], names["degrees of crank"]
        assert (along.anchor, along.x) == ("end", 740)
        assert (up.anchor, up.x) == ("start", INSET)
        assert up.y == 30 - HEAD

    def test_figures_stand_a_line_beneath_the_plot_and_the_name_one_line_lower(self):
        panel = self.panel()
        assert {text.y for text in self.along(panel)} == {430 + LINE}
        [name] = [text for text in panel.texts if text.text == "crank rpm"]
        assert name.y == 430 + 2 * LINE

    def test_without_a_foot_nothing_is_lettered_beneath_the_plot(self):
        panel = self.panel(foot=False)
        assert self.along(panel) == []
        assert [text.text for text in panel.texts if text.css == "chart-name"] == ["degrees of crank"]
        assert self.beside(panel)

    def test_the_name_over_the_plot_is_lifted_above_what_else_stands_there(self):
        [name] = [text for text in self.panel(lift=32.0).texts if text.text == "degrees of crank"]
        assert name.y == 30 - HEAD - 32

    def test_figures_are_in_pencil_and_names_in_ink(self):
        inks = {(text.css, text.fill) for text in self.panel().texts}
        assert inks == {("chart-figure", PRINT.pencil), ("chart-name", PRINT.ink)}

    def test_places_are_written_to_a_hundredth(self):
        panel = self.panel(width=333.3333, degrees=(0, 35))
        lettered = [*self.along(panel), *self.beside(panel)]
        assert all((text.x, text.y) == (round(text.x, 2), round(text.y, 2)) for text in lettered)

    def test_degrees_carry_their_sign_and_speeds_do_not(self):
        words = {text.text for text in self.panel().texts}
        assert {"0°", "40°", "6000"} <= words
        assert "6000°" not in words

    def test_lettering_is_as_wide_as_its_letters(self):
        assert width_of("6000") == pytest.approx(4 * LETTER * LETTER_WIDTH)
        assert width_of("6000", 2 * LETTER) == 2 * width_of("6000")


def test_the_palette_has_a_legible_colour_for_the_figure_on_every_shade():
    assert isinstance(PRINT, Palette)
    assert len(PRINT.shades) == len(PRINT.on_shades) >= 8
