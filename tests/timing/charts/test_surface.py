"""The surface as a table: figures, shades, contours and named places."""

import math
from itertools import combinations

import numpy as np
import pytest

from tests.timing.charts.surfaces import SPEEDS, TOTAL, VACUA, cell, drawn
from timing.charts import ChartError, SurfacePoint, sums_in_words, surface_chart
from timing.charts.page import width_of
from timing.charts.palette import PRINT
from timing.errors import TimingError


class TestCells:
    @pytest.mark.parametrize(
        ("row", "column", "figure", "source"),
        [
            (0, 0, "8", "base alone: no speed part at 800 rpm, no vacuum"),
            (1, 0, "12.7", "8 + 4.666667, handbook section 4"),
            (2, 0, "22", "8 + 14, handbook section 4"),
            (3, 4, "44", "8 + 22 + 14: both parts held beyond their ends"),
        ],
    )
    def test_every_cell_prints_its_degrees(self, row, column, figure, source):
        assert cell(drawn(), row, column).figure == figure, source

    def test_speed_runs_across_and_vacuum_up(self):
        chart = drawn()
        assert cell(chart, 0, 0).x < cell(chart, 0, 1).x
        assert cell(chart, 0, 0).y > cell(chart, 1, 0).y

    def test_cells_fill_the_table_without_gap_or_overlap(self):
        chart = drawn()
        for row, column in [(1, 1), (2, 3)]:
            here = cell(chart, row, column)
            assert cell(chart, row, column + 1).x - here.x == pytest.approx(chart.cell_width, abs=0.02)
            assert here.y - cell(chart, row + 1, column).y == pytest.approx(chart.cell_height, abs=0.02)

    def test_the_darker_the_shade_the_more_advance(self):
        cells = sorted(drawn().cells, key=lambda one: TOTAL.advance(rpm=SPEEDS[one.column], vacuum=VACUA[one.row]))
        levels = [one.level for one in cells]
        assert levels == sorted(levels)
        assert levels[0] < 2
        assert levels[-1] == len(PRINT.shades) - 1

    def test_nine_shades_part_the_limits_evenly_each_with_an_ink_that_can_be_read_on_it(self):
        speeds = range(1, 11)
        row = [0, 0.99, 1, 2, 3, 4.5, 5, 7.99, 8, 9]
        chart = surface_chart(rpm=speeds, vacuum=[0, 1], advance=[row, row], uid="s", limits=(0, 9))
        assert [one.level for one in chart.cells if one.row == 0] == [0, 0, 1, 2, 3, 4, 5, 7, 8, 8]
        for one in chart.cells:
            assert (one.fill, one.ink) == (PRINT.shades[one.level], PRINT.on_shades[one.level])

    @pytest.mark.parametrize(
        ("row", "levels"),
        [
            ([8, 24, 44], [0, 4, 8]),  # 5 to 45: 3, 19 and 39 of 40 degrees
            ([10, 22.4, 45], [0, 3, 8]),  # 10 to 45: 12.4 of 35 are 3.19 of nine
            ([-3, 0, 5], [1, 4, 8]),  # -5 to 5
        ],
    )
    def test_without_limits_the_shades_part_the_round_fives_around_all(self, row, levels):
        chart = surface_chart(rpm=[1, 2, 3], vacuum=[0, 1], advance=[row, row], uid="s")
        assert [one.level for one in chart.cells if one.row == 0] == levels

    def test_shades_of_two_versions_agree_when_given_the_same_limits(self):
        low, high = drawn(limits=(0, 45)), drawn(limits=(0, 90))
        assert cell(low, 3, 4).level == 8  # 44 of 45 degrees in nine shades
        assert cell(high, 3, 4).level == 4  # 44 of 90

    def test_a_figure_beyond_the_limits_keeps_the_outermost_shade(self):
        chart = drawn(limits=(10, 20))
        assert cell(chart, 0, 0).level == 0
        assert cell(chart, 3, 4).level == 8

    def test_a_flat_surface_can_be_drawn(self):
        chart = surface_chart(rpm=[1000, 2000], vacuum=[0, 50], advance=[[10, 10], [10, 10]], uid="s")
        assert {one.figure for one in chart.cells} == {"10"}
        assert chart.contours == ()

    def test_a_narrow_cell_prints_whole_degrees(self):
        speeds = np.linspace(500, 6500, 16)
        chart = surface_chart(
            rpm=speeds, vacuum=VACUA, advance=TOTAL.table(rpm=speeds, vacuum=VACUA), uid="s", width=360
        )
        assert all("." not in one.figure for one in chart.cells)
        assert all(width_of(one.figure, chart.size) <= chart.cell_width for one in chart.cells)

    @pytest.mark.parametrize(
        ("wide", "figure", "size"), [(34.1, "12.7", 13), (33.9, "13", 13), (30.1, "13", 13), (29.9, "13", 10.5)]
    )
    def test_a_decimal_and_large_figures_take_cells_of_their_width(self, wide, figure, size):
        rows = width_of("60") + 12 + 14  # names of rows and margins
        columns = np.linspace(500, 6500, 15)
        table = np.full((4, 15), 12.7)
        chart = surface_chart(rpm=columns, vacuum=VACUA, advance=table, uid="s", width=round(rows, 1) + 15 * wide)
        assert chart.cell_width == pytest.approx(wide, abs=0.01)
        assert {one.figure for one in chart.cells} == {figure}
        assert chart.size == size
        assert all(width_of(one.figure, chart.size) <= chart.cell_width for one in chart.cells)

    def test_a_whole_figure_has_no_decimal(self):
        assert (
            cell(surface_chart(rpm=[1, 2], vacuum=[0, 1], advance=[[10, 12.5], [12, 12.04]], uid="s"), 1, 1).figure
            == "12"
        )

    def test_every_figure_stands_in_the_middle_of_its_cell(self):
        chart = drawn()
        for one in chart.cells:
            assert one.text_x == pytest.approx(one.x + chart.cell_width / 2, abs=0.02)
            # A capital is 0.72 of its height: half of it under the middle.
            assert one.text_y == pytest.approx(one.y + chart.cell_height / 2 + 0.36 * chart.size, abs=0.02)

    @pytest.mark.parametrize(
        ("columns", "height"),
        [(2, 40), (12, 37.28), (16, 27.96), (24, 26)],  # 0.66 of the width, from 26 (a slip between figures) to 40
    )
    def test_cells_are_two_thirds_as_high_as_wide_within_what_can_be_read(self, columns, height):
        speeds = np.linspace(500, 6500, columns)
        chart = surface_chart(rpm=speeds, vacuum=VACUA, advance=TOTAL.table(rpm=speeds, vacuum=VACUA), uid="s")
        assert chart.cell_height == pytest.approx(height, abs=0.01)
        assert cell(chart, 3, 0).y == pytest.approx(27)  # the name of the axis and a gap of 14

    @pytest.mark.parametrize("unit", [1, 1 / 3600], ids=["seconds", "hours"])
    def test_the_time_spent_is_drawn_as_a_share_of_the_longest(self, unit):
        spent = np.zeros((4, 5))
        spent[1, 2], spent[3, 3] = 40 * unit, 10 * unit
        chart = drawn(visits=spent)
        assert cell(chart, 1, 2).visit_width == pytest.approx(chart.cell_width, abs=0.01)
        assert cell(chart, 3, 3).visit_width == pytest.approx(chart.cell_width / 4, abs=0.01)
        assert cell(chart, 0, 0).visit_width == 0
        for one in chart.cells:  # a bar of 4 units along the foot
            assert one.y + chart.cell_height - one.visit_y - 4 == pytest.approx(0.5, abs=0.02)

    def test_a_drive_of_no_time_has_no_bars(self):
        assert {one.visit_width for one in drawn(visits=np.zeros((4, 5))).cells} == {0.0}
        assert {one.visit_width for one in drawn().cells} == {0.0}

    def test_only_the_cell_under_the_cursor_is_selected(self):
        assert [(one.row, one.column) for one in drawn(selected=(2, 1)).cells if one.selected] == [(2, 1)]
        assert not any(one.selected for one in drawn().cells)


class TestNamedPlaces:
    def test_a_place_lies_between_its_nodes(self):
        chart = drawn(points=[SurfacePoint("cruise", rpm=3000, vacuum=50)])
        [point] = chart.points
        assert point.x == pytest.approx((cell(chart, 0, 2).text_x + cell(chart, 0, 3).text_x) / 2, abs=0.02)
        assert point.y == pytest.approx((cell(chart, 2, 0).y + cell(chart, 3, 0).y + chart.cell_height) / 2, abs=0.02)

    @pytest.mark.parametrize("width", [360, 720])
    def test_names_cover_neither_figures_nor_one_another(self, width):
        places = [
            SurfacePoint("idle", rpm=800, vacuum=60),
            SurfacePoint("cruise", rpm=900, vacuum=55),
            SurfacePoint("full load", rpm=5000, vacuum=0),
        ]
        chart = drawn(points=places, width=width)
        assert [point.name for point in chart.points] == ["idle", "cruise", "full load"]
        for point in chart.points:
            for one in chart.cells:
                middle = one.text_y - chart.size * 0.36
                assert abs(point.slip_y + point.slip_height / 2 - middle) >= 7 + chart.size * 0.36 - 1.5
            assert 0 <= point.slip_x <= chart.width - point.slip_width
        for one, other in combinations(chart.points, 2):
            assert (
                abs(one.slip_y - other.slip_y) >= 14
                or one.slip_x + one.slip_width <= other.slip_x
                or other.slip_x + other.slip_width <= one.slip_x
            )


class TestTheCursor:
    def test_it_tells_figure_place_and_sum(self):
        chart = drawn(says=sums_in_words(TOTAL, rpm=SPEEDS, vacuum=VACUA))
        assert cell(chart, 1, 2).says == ("29.7° at 2500 rpm, 20 kPa: 8° base + 17° speed + 4.7° vacuum = 29.7°")
        assert cell(drawn(), 1, 2).says == "29.7° at 2500 rpm, 20 kPa"

    def test_it_tells_boost_and_the_unit_of_the_drawing(self):
        chart = surface_chart(
            rpm=[1000, 2000], vacuum=[-12, 0], advance=[[8, 10], [12, 14.25]], uid="s", pressure_unit="inHg"
        )
        assert cell(chart, 0, 0).says == "8° at 1000 rpm, boost 12 inHg"
        assert cell(chart, 1, 1).says == "14.2° at 2000 rpm, 0 inHg"


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (([1000], [0, 1], [[1], [2]]), "^a surface needs two or more rising nodes of speed$"),
        (([[1000, 2000]], [0, 1], [[1, 2], [2, 3]]), "a surface needs two or more rising nodes of speed"),
        (([1000, 2000], [0], [[1, 2]]), "a surface needs two or more rising nodes of vacuum"),
        (([1000, 2000], [0, math.nan], [[1, 2], [2, 3]]), "^vacuum must be a finite number"),
        (([1000, 900], [0, 1], [[1, 2], [2, 3]]), "a surface needs two or more rising nodes of speed"),
        (([1000, 2000], [5, 5], [[1, 2], [2, 3]]), "a surface needs two or more rising nodes of vacuum"),
        (
            ([1000, 2000], [0, 1], [[1, 2, 3], [2, 3, 4]]),
            r"^the advance has the shape \(2, 3\), but there are 2 nodes of vacuum and 2 of speed$",
        ),
        (([1000, 2000], [0, 1], [[1, math.nan], [2, 3]]), "the advance must be a finite number"),
        (([-5, 2000], [0, 1], [[1, 2], [2, 3]]), "engine speed must be 0 rpm or more"),
    ],
)
def test_a_table_that_does_not_fit_is_refused(arguments, message):
    with pytest.raises(TimingError, match=f"^{message}"):
        surface_chart(**dict(zip(("rpm", "vacuum", "advance"), arguments, strict=True)), uid="s")


@pytest.mark.parametrize(
    ("look", "message"),
    [
        ({"limits": (20, 20)}, "^shades run upwards: 20 is not below 20 degrees$"),
        ({"contour_step": 0}, "^the distance of the contour lines must be above 0 degrees"),
        ({"visits": [[1, 2]]}, r"^the time spent has the shape \(1, 2\), the surface \(4, 5\)$"),
        ({"visits": [[-1] * 5] * 4}, "^the time spent in a cell must be 0 or more"),
        ({"width": 200}, "a drawing must be 240 or wider"),
        ({"points": [SurfacePoint("idle", rpm=800, vacuum=math.nan)]}, "the place of idle must be a finite number"),
    ],
)
def test_a_look_that_makes_no_sense_is_refused(look, message):
    with pytest.raises((ChartError, TimingError), match=f"^{message}"):
        drawn(**look)


def test_a_name_that_is_no_plain_word_is_refused():
    with pytest.raises(ChartError, match=r"^the name of a drawing"):
        surface_chart(rpm=SPEEDS, vacuum=VACUA, advance=TOTAL.table(rpm=SPEEDS, vacuum=VACUA), uid="s s")
