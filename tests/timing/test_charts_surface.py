"""The surface as a table: figures, shades, contours and named places."""

import math
from itertools import combinations

import numpy as np
import pytest

from tests.timing.drawn import corners
from timing.charts import ChartError, SurfacePoint, sums_in_words, surface_chart
from timing.charts.palette import PRINT
from timing.charts.paper import width_of
from timing.curve import AdvanceCurve
from timing.errors import TimingError
from timing.surface import TotalAdvance
from timing.vacuum import BoostRetard, VacuumRamp

SPEEDS = [800, 1600, 2500, 3500, 5000]
VACUA = [0, 20, 40, 60]
# The vacuum ramp of the handbook's section 4: 0, 4.666667, 7, 14, 14 degrees at 10, 20, 25, 40, 60 kPa.
TOTAL = TotalAdvance(8, AdvanceCurve([800, 2500, 3500], [0, 17, 22]), VacuumRamp(10, 40, 14))


def drawn(**look):
    return surface_chart(SPEEDS, VACUA, TOTAL.table(SPEEDS, VACUA), uid="s", **look)


def cell(chart, row, column):
    [found] = [one for one in chart.cells if (one.row, one.column) == (row, column)]
    return found


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
        cells = sorted(drawn().cells, key=lambda one: TOTAL.advance(SPEEDS[one.column], VACUA[one.row]))
        levels = [one.level for one in cells]
        assert levels == sorted(levels)
        assert levels[0] < 2
        assert levels[-1] == len(PRINT.shades) - 1

    def test_shades_of_two_versions_agree_when_given_the_same_limits(self):
        low, high = drawn(limits=(0, 45)), drawn(limits=(0, 90))
        assert cell(low, 3, 4).level == 8  # 44 of 45 degrees in nine shades
        assert cell(high, 3, 4).level == 4  # 44 of 90

    def test_a_figure_beyond_the_limits_keeps_the_outermost_shade(self):
        chart = drawn(limits=(10, 20))
        assert cell(chart, 0, 0).level == 0
        assert cell(chart, 3, 4).level == 8

    def test_a_flat_surface_can_be_drawn(self):
        chart = surface_chart([1000, 2000], [0, 50], [[10, 10], [10, 10]], uid="s")
        assert {one.figure for one in chart.cells} == {"10"}
        assert chart.contours == ()

    def test_a_narrow_cell_prints_whole_degrees(self):
        speeds = np.linspace(500, 6500, 16)
        chart = surface_chart(speeds, VACUA, TOTAL.table(speeds, VACUA), uid="s", width=360)
        assert all("." not in one.figure for one in chart.cells)
        assert all(width_of(one.figure, chart.size) <= chart.cell_width for one in chart.cells)

    def test_the_time_spent_is_drawn_as_a_share_of_the_longest(self):
        spent = np.zeros((4, 5))
        spent[1, 2], spent[3, 3] = 40, 10
        chart = drawn(visits=spent)
        assert cell(chart, 1, 2).visit_width == pytest.approx(chart.cell_width, abs=0.01)
        assert cell(chart, 3, 3).visit_width == pytest.approx(chart.cell_width / 4, abs=0.01)
        assert cell(chart, 0, 0).visit_width == 0

    def test_only_the_cell_under_the_cursor_is_selected(self):
        assert [(one.row, one.column) for one in drawn(selected=(2, 1)).cells if one.selected] == [(2, 1)]


class TestSums:
    def test_a_cell_is_explained_as_a_sum(self):
        says = sums_in_words(TOTAL, SPEEDS, VACUA)
        assert says[1][2] == "8° base + 17° speed + 4.7° vacuum = 29.7°"
        assert says[0][0] == "8° base + 0° speed = 8°"

    def test_boost_is_taken_away(self):
        boosted = TotalAdvance(10, AdvanceCurve([1000], [12]), None, BoostRetard([0, 80], [0, 8]))
        assert sums_in_words(boosted, [2000], [-40])[0][0] == "10° base + 12° speed − 4° boost = 18°"

    def test_the_cursor_tells_figure_place_and_sum(self):
        chart = drawn(says=sums_in_words(TOTAL, SPEEDS, VACUA))
        assert cell(chart, 1, 2).says == ("29.7° at 2500 rpm, 20 kPa: 8° base + 17° speed + 4.7° vacuum = 29.7°")
        assert cell(drawn(), 1, 2).says == "29.7° at 2500 rpm, 20 kPa"


class TestContours:
    def test_lines_stand_at_every_step_the_surface_reaches(self):
        names = {layer.words for layer in drawn().contours if layer.name != "contour-halo"}
        assert names == {"10°", "15°", "20°", "25°", "30°", "35°", "40°"}  # 8 to 44 degrees
        names = {layer.words for layer in drawn(contour_step=10).contours if layer.name != "contour-halo"}
        assert names == {"10°", "20°", "30°", "40°"}

    def test_a_line_runs_through_the_cell_where_the_surface_has_that_figure(self):
        chart = drawn()
        [layer] = [layer for layer in chart.contours if layer.words == "15°"]
        # By hand at 800 rpm: 8 + 14/30 (v - 10) = 15 at 25 kPa, a quarter of the way from 20 to 40 kPa.
        x = cell(chart, 0, 0).text_x
        y = cell(chart, 1, 0).y + chart.cell_height / 2 - 0.25 * chart.cell_height
        assert any(place == pytest.approx((x, y), abs=0.02) for place in corners(layer.d))

    def test_lines_reach_the_edge_and_stay_inside(self):
        chart = drawn()
        left, right = cell(chart, 0, 0).x, cell(chart, 0, 4).x + chart.cell_width
        top, bottom = cell(chart, 3, 0).y, cell(chart, 0, 0).y + chart.cell_height
        for layer in chart.contours:
            places = corners(layer.d)
            assert all(left - 0.02 <= x <= right + 0.02 and top - 0.02 <= y <= bottom + 0.02 for x, y in places)
            assert any(min(x - left, right - x, y - top, bottom - y) < 0.02 for x, y in places)


class TestNamedPlaces:
    def test_a_place_lies_between_its_nodes(self):
        chart = drawn(points=[SurfacePoint("cruise", 3000, 50)])
        [point] = chart.points
        assert point.x == pytest.approx((cell(chart, 0, 2).text_x + cell(chart, 0, 3).text_x) / 2, abs=0.02)
        assert point.y == pytest.approx((cell(chart, 2, 0).y + cell(chart, 3, 0).y + chart.cell_height) / 2, abs=0.02)

    def test_a_place_beyond_the_nodes_is_shown_at_the_edge(self):
        [point] = drawn(points=[SurfacePoint("idle", 300, 90)]).points
        assert point.x == pytest.approx(cell(drawn(), 3, 0).text_x, abs=0.02)

    def test_names_cover_neither_figures_nor_one_another(self):
        places = [SurfacePoint("idle", 800, 60), SurfacePoint("cruise", 900, 55), SurfacePoint("full load", 5000, 0)]
        for width in (360, 720):
            chart = drawn(points=places, width=width)
            for point in chart.points:
                middles = [one.text_y - chart.size * 0.36 for one in chart.cells]
                assert all(
                    point.slip_y + point.slip_height <= y - chart.size * 0.36 + 1.5
                    or point.slip_y >= y + chart.size * 0.36 - 1.5
                    for y in middles
                )
                assert point.slip_x >= 0
                assert point.slip_x + point.slip_width <= chart.width
            for one, other in combinations(chart.points, 2):
                assert abs(one.slip_y - other.slip_y) >= 14 or abs(one.slip_x - other.slip_x) >= min(
                    one.slip_width, other.slip_width
                )

    def test_boost_is_called_boost(self):
        chart = surface_chart([1000, 2000], [-40, 0], [[8, 10], [12, 14]], uid="s")
        assert "boost 40" in {text.words for text in chart.texts}
        assert "At boost 40 kPa: 8°, 10°." in chart.words


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (([1000], [0, 1], [[1], [2]]), "two or more rising nodes of speed"),
        (([1000, 900], [0, 1], [[1, 2], [2, 3]]), "rising nodes of speed"),
        (([1000, 2000], [5, 5], [[1, 2], [2, 3]]), "rising nodes of vacuum"),
        (([1000, 2000], [0, 1], [[1, 2, 3], [2, 3, 4]]), "2 nodes of vacuum and 2 of speed"),
        (([1000, 2000], [0, 1], [[1, math.nan], [2, 3]]), "the advance must be a finite number"),
        (([-5, 2000], [0, 1], [[1, 2], [2, 3]]), "engine speed must be 0 rpm or more"),
    ],
)
def test_a_table_that_does_not_fit_is_refused(arguments, message):
    with pytest.raises(TimingError, match=message):
        surface_chart(*arguments, uid="s")


@pytest.mark.parametrize(
    ("look", "message"),
    [
        ({"limits": (20, 20)}, "20 is not below 20 degrees"),
        ({"contour_step": 0}, "above 0 degrees"),
        ({"visits": [[1, 2]]}, "the time spent has the shape"),
        ({"visits": [[-1] * 5] * 4}, "0 or more"),
        ({"width": 200}, "240 or wider"),
    ],
)
def test_a_look_that_makes_no_sense_is_refused(look, message):
    with pytest.raises((ChartError, TimingError), match=message):
        drawn(**look)
