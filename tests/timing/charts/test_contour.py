"""Contour lines against surfaces whose contours are known, and against scipy's interpolation."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.interpolate import RegularGridInterpolator

from timing.charts import ChartError
from timing.charts.contour import contour
from timing.errors import TimingError

tables = st.tuples(st.integers(2, 7), st.integers(2, 7)).flatmap(
    lambda shape: arrays(np.float64, shape, elements=st.integers(0, 40).map(float))
)


def length(line):
    return sum(math.dist(one, other) for one, other in pairwise(line))


class TestKnownSurfaces:
    def test_the_contour_of_a_plane_is_one_straight_line(self):
        columns, rows = np.meshgrid(np.arange(6), np.arange(5))
        [line] = contour(columns + 2.0 * rows, 4.5)  # by hand: column + 2 row = 4.5
        assert all(column + 2 * row == pytest.approx(4.5) for column, row in line)
        assert {line[0], line[-1]} == {(4.5, 0.0), (0.0, 2.25)}

    def test_the_contour_of_a_cone_is_a_circle_that_ends_where_it_begins(self):
        columns, rows = np.meshgrid(np.arange(81), np.arange(81))
        [ring] = contour(np.hypot(columns - 40.0, rows - 40.0), 25.3)
        assert ring[0] == ring[-1]
        assert length(ring) == pytest.approx(2 * math.pi * 25.3, rel=2e-3)  # geometry: circumference
        assert all(math.hypot(c - 40, r - 40) == pytest.approx(25.3, abs=0.02) for c, r in ring)

    @pytest.mark.parametrize(
        ("tilt", "level"), [((1, 0), 2.5), ((0, 1), 1.5), ((1, 1), 3.5), ((1, -1), 0.5), ((-2, 1), -3.25)]
    )
    def test_a_line_runs_on_from_neighbour_to_neighbour(self, tilt, level):
        columns, rows = np.meshgrid(np.arange(6.0), np.arange(5.0))
        [line] = contour(tilt[0] * columns + tilt[1] * rows, level)
        assert max(math.dist(one, other) for one, other in pairwise(line)) <= math.sqrt(2)  # within one square
        assert length(line) == pytest.approx(math.dist(line[0], line[-1]))  # and straight on

    def test_a_figure_equal_to_the_level_counts_as_above_it(self):
        [line] = contour(np.array([[0.0, 10.0, 20.0], [0.0, 10.0, 20.0]]), 10.0)
        assert set(line) == {(1.0, 0.0), (1.0, 1.0)}
        assert contour(np.array([[10.0, 10.0], [10.0, 10.0]]), 10.0) == ()

    def test_open_lines_come_before_rings(self):
        table = np.zeros((7, 7))
        table[3, 3] = 10  # a hill in the middle
        table[:, 0] = 10  # a wall at the edge
        wall, hill = contour(table, 5)
        assert {column for column, _ in wall} == {0.5}
        assert hill[0] == hill[-1]
        assert len(set(hill)) == 4

    def test_two_hills_have_two_rings(self):
        columns, rows = np.meshgrid(np.arange(41.0), np.arange(41.0))
        hills = np.maximum(10 - np.hypot(columns - 10, rows - 10), 10 - np.hypot(columns - 30, rows - 30))
        rings = contour(hills, 5.2)
        assert len(rings) == 2
        assert all(ring[0] == ring[-1] for ring in rings)

    @pytest.mark.parametrize(
        ("raised", "cut_off"),
        [
            # Opposite corners high. A mean above the level joins the high ones: each low corner is cut off alone.
            (1e-9, {((1.0, 0.5), (0.5, 0.0)), ((0.0, 0.5), (0.5, 1.0))}),
            (-1e-9, {((0.0, 0.5), (0.5, 0.0)), ((1.0, 0.5), (0.5, 1.0))}),
            (0.0, {((1.0, 0.5), (0.5, 0.0)), ((0.0, 0.5), (0.5, 1.0))}),  # a mean at the level counts as above it
        ],
    )
    @pytest.mark.parametrize("around", [None, -1000.0, 1000.0])
    def test_a_saddle_is_decided_by_the_mean_of_its_own_corners(self, raised, cut_off, around):
        table = np.array([[11.0, -1.0], [-1.0, 11.0]]) + raised  # the mean is 5
        if around is not None:
            table = np.pad(table, ((0, 1), (0, 1)), constant_values=around)
        steps = [pair for line in contour(table, 5.0) for pair in pairwise(line)]
        within = [[(round(c, 6), round(r, 6)) for c, r in pair] for pair in steps if np.max(pair) <= 1]
        assert {frozenset(pair) for pair in within} == {frozenset(pair) for pair in cut_off}

    @pytest.mark.parametrize("level", [-1.0, 0.0, 20.5])
    def test_a_level_the_surface_does_not_cross_has_no_line(self, level):
        assert contour(np.array([[0.0, 10.0], [5.0, 20.0]]), level) == ()

    def test_the_highest_figure_itself_is_touched_in_a_point(self):
        lines = contour(np.array([[0.0, 10.0], [5.0, 20.0]]), 20.0)
        assert all(point == (1.0, 1.0) for line in lines for point in line)


class TestAnySurface:
    @given(table=tables, level=st.floats(0.25, 39.75).map(lambda x: round(x * 4) / 4 + 0.125))
    @settings(max_examples=150)
    def test_every_point_lies_at_the_level_by_scipy_s_reckoning(self, table, level):
        surface = RegularGridInterpolator((np.arange(table.shape[0]), np.arange(table.shape[1])), table)
        points = [(row, column) for line in contour(table, level) for column, row in line]
        if points:
            assert surface(points) == pytest.approx(level, abs=1e-9)

    @given(table=tables, level=st.floats(0.25, 39.75).map(lambda x: round(x * 4) / 4 + 0.125))
    @settings(max_examples=150)
    def test_every_side_that_the_level_crosses_is_crossed_once(self, table, level):
        above = table >= level
        sides = int((above[:, 1:] != above[:, :-1]).sum() + (above[1:] != above[:-1]).sum())
        lines = contour(table, level)
        crossings = sum(len(line) - (line[0] == line[-1]) for line in lines)
        assert crossings == sides

    @given(table=tables, level=st.floats(0.25, 39.75).map(lambda x: round(x * 4) / 4 + 0.125))
    @settings(max_examples=100)
    def test_an_open_line_ends_at_the_edge_of_the_table(self, table, level):
        last_row, last_column = table.shape[0] - 1, table.shape[1] - 1
        for line in contour(table, level):
            if line[0] != line[-1]:
                for column, row in (line[0], line[-1]):
                    assert column in (0, last_column) or row in (0, last_row)


class TestRefusals:
    @pytest.mark.parametrize("table", [np.zeros((1, 4)), np.zeros((4, 1)), np.zeros(4)])
    def test_a_single_row_has_no_contour(self, table):
        with pytest.raises(ChartError, match=r"^contour lines need a table of two by two figures or more$"):
            contour(table, 1.0)

    def test_two_by_two_are_enough(self):
        assert contour(np.array([[0.0, 2.0], [0.0, 2.0]]), 1.0) == (((0.5, 0.0), (0.5, 1.0)),)

    def test_a_level_that_is_none_is_refused(self):
        with pytest.raises(TimingError, match=r"^the level of a contour line must be a finite number"):
            contour(np.zeros((2, 2)), math.nan)

    def test_a_figure_that_is_none_is_refused(self):
        with pytest.raises(TimingError, match=r"^the surface must be a finite number"):
            contour(np.array([[0.0, math.nan], [1.0, 2.0]]), 1.0)
