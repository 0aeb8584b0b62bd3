"""Idle, cruise and full load on the surface: the ring at its place, the name on a slip that covers no figure."""

import math
from itertools import combinations

import numpy as np
import pytest

from timing.charts import SurfacePoint
from timing.charts.page import width_of
from timing.charts.surface_points import CLEAR, SLIP, SLIP_LETTER, Cells, place_points
from timing.errors import TimingError

RING = 13  # [units of the drawing] to the outer edge of the ring, by hand: a radius of 12, a line of 2
SPEEDS, VACUA = (1000.0, 2000.0, 4000.0), (-40.0, 0.0, 20.0, 60.0)
CELLS = Cells(SPEEDS, VACUA, np.zeros((4, 3)), left=50, top=30, cell_width=90, cell_height=30)


def placed(*points, cells=CELLS):
    return place_points(cells, [SurfacePoint(name, rpm=rpm, vacuum=vacuum) for name, rpm, vacuum in points])


def middle(point):
    return point.slip_y + point.slip_height / 2


def overlap(one, other):
    return (
        one.slip_x < other.slip_x + other.slip_width
        and other.slip_x < one.slip_x + one.slip_width
        and abs(one.slip_y - other.slip_y) < SLIP
    )


class TestTheRing:
    @pytest.mark.parametrize(
        ("rpm", "vacuum", "column", "row"),
        [
            (1000, -40, 0, 0),
            (3000, 40, 1.5, 2.5),  # half way between its nodes, by hand
            (2500, 5, 1.25, 1.25),
            (500, -60, 0, 0),  # outside the nodes: at the edge
            (9000, 90, 2, 3),
        ],
    )
    def test_a_place_lies_between_its_nodes(self, rpm, vacuum, column, row):
        [point] = placed(("cruise", rpm, vacuum))
        # 50 + 90 (column + a half), and up from the bottom at 30 + 4 * 30.
        assert (point.x, point.y) == pytest.approx((50 + 90 * (column + 0.5), 150 - 30 * (row + 0.5)))

    def test_points_keep_their_names_and_their_order(self):
        points = placed(("full load", 4000, 0), ("idle", 1000, 60))
        assert [point.name for point in points] == ["full load", "idle"]
        assert placed() == ()

    @pytest.mark.parametrize("place", [(math.nan, 0), (1000, math.inf)])
    def test_a_place_that_is_none_is_refused_by_its_name(self, place):
        with pytest.raises(TimingError, match=r"^the place of cruise must be a finite number"):
            placed(("cruise", *place))


class TestTheSlip:
    @pytest.mark.parametrize("vacuum", [-40, -20, 0, 15, 20, 45, 60])
    def test_it_lies_on_the_nearest_line_between_two_rows(self, vacuum):
        [point] = placed(("idle", 1000, vacuum))
        lines = [60, 90, 120]
        assert middle(point) in lines
        assert abs(middle(point) - point.y) == min(abs(line - point.y) for line in lines)

    def test_it_is_just_wide_enough_for_its_name_in_the_middle(self):
        [point] = placed(("full load", 1000, 0))
        assert point.slip_width == pytest.approx(width_of("full load", SLIP_LETTER) + 6, abs=0.01)
        assert point.slip_height == SLIP
        assert point.text_x == pytest.approx(point.slip_x + point.slip_width / 2, abs=0.01)
        # A capital is 0.72 of its height: half of it under the middle.
        assert point.text_y == pytest.approx(middle(point) + 0.36 * SLIP_LETTER, abs=0.01)

    @pytest.mark.parametrize("rpm", [1000, 2000, 4000])
    def test_it_stands_clear_of_the_ring_to_the_right_where_there_is_room_else_to_the_left(self, rpm):
        [point] = placed(("cruising", rpm, 0))
        end = point.slip_x + point.slip_width
        if rpm < 4000:
            assert point.slip_x - point.x == pytest.approx(CLEAR)
        else:  # 63 units for the name, 45 from the last node to the edge
            assert point.x - end == pytest.approx(CLEAR)
        assert CLEAR > RING
        assert CELLS.left <= point.slip_x
        assert end <= CELLS.right

    def test_ring_and_slip_stand_to_a_hundredth(self):
        cells = Cells(SPEEDS, VACUA, np.zeros((4, 3)), 50.01, 30.003, cell_width=90.7777, cell_height=30.3333)
        [point] = placed(("a b c", 1777, 11), cells=cells)
        x, y = cells.centre(0.777, 1.55)
        line = 30.003 + 2 * 30.3333
        assert (point.x, point.y) == (round(x, 2), round(y, 2))
        assert point.slip_width == round(width_of("a b c", SLIP_LETTER) + 6, 2)
        assert point.slip_x == round(x + CLEAR, 2)
        assert point.slip_y == round(line - SLIP / 2, 2)
        assert point.text_x == round(x + CLEAR + point.slip_width / 2, 2)
        assert point.text_y == round(line + 0.36 * SLIP_LETTER, 2)

    def test_a_slip_that_just_fits_stays_to_the_right(self):
        name = "idle"
        room = CLEAR + round(width_of(name, SLIP_LETTER) + 6, 2)  # from its node to the edge of the last cell
        for spare, to_the_right in ((0.01, True), (-0.01, False)):
            cells = Cells(SPEEDS, VACUA, np.zeros((4, 3)), 50, 30, cell_width=2 * (room + spare), cell_height=30)
            [point] = placed((name, 4000, 0), cells=cells)
            assert (point.slip_x > point.x) == to_the_right

    def test_two_at_one_place_lie_on_different_lines(self):
        one, other = placed(("idle", 1000, 0), ("hot idle", 1000, 0))
        assert not overlap(one, other)
        assert abs(middle(one) - middle(other)) == 30

    def test_a_short_name_does_not_slip_under_the_end_of_a_long_one(self):
        points = placed(("a long stretch uphill", 1000, 0), ("idle", 1900, 0))
        assert not overlap(*points)
        points = placed(("idle", 1900, 0), ("a long stretch uphill", 1000, 0))
        assert not overlap(*points)

    def test_names_side_by_side_share_a_line(self):
        one, other = placed(("idle", 1000, 0), ("fast", 2000, 0))
        assert middle(one) == middle(other)

    def test_where_every_line_is_taken_the_nearest_is_taken_again(self):
        points = placed(*[(name, 1000, 0) for name in ("a", "b", "c", "d")])
        assert sorted(middle(point) for point in points[:3]) == [60, 90, 120]
        assert middle(points[3]) == middle(points[0])

    def test_no_slip_covers_the_figure_of_a_cell(self):
        points = placed(*[(name, rpm, 0) for name, rpm in (("a", 1000), ("b", 1000), ("c", 2000), ("d", 4000))])
        for point in points:
            for row in range(4):
                _, y = CELLS.centre(0, row)
                assert abs(middle(point) - y) >= SLIP / 2 + 13 * 0.36 - 1  # a figure of 13 units about the middle
        assert not any(overlap(one, other) for one, other in combinations(points, 2))
