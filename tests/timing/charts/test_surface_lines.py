"""Contour lines and lettering of the surface, read back through the places of its cells."""

import math
from itertools import combinations

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator

from tests.timing.charts.drawn import corners
from tests.timing.charts.inked import ink_of, misprinted, said, touches
from tests.timing.charts.surfaces import SPEEDS, TOTAL, VACUA, cell, drawn
from timing.charts import PRINT, SurfacePoint, styles, surface_chart
from timing.charts.page import ASIDE, CENTRED, GAP, HEAD, INSET, LINE, MARGIN, width_of


def lines(chart):
    return {layer.label: layer for layer in chart.contours if layer.name != "contour-halo"}


def nodes_at(chart, place):
    """A place on the drawing as (row, column), counted between the middles of the cells."""
    lowest = cell(chart, 0, 0)
    column = (place[0] - lowest.x) / chart.cell_width - 0.5
    row = (lowest.y + chart.cell_height - place[1]) / chart.cell_height - 0.5
    return row, column


class TestContours:
    def test_lines_stand_at_every_step_the_surface_reaches(self):
        assert set(lines(drawn())) == {"10°", "15°", "20°", "25°", "30°", "35°", "40°"}  # 8 to 44 degrees
        assert set(lines(drawn(contour_step=10))) == {"10°", "20°", "30°", "40°"}
        assert {layer.name for layer in lines(drawn(contour_step=17.5)).values()} == {"contour-17.5", "contour-35"}

    def test_the_edge_of_the_highest_plain_is_drawn_and_the_lowest_has_none(self):
        chart = surface_chart(rpm=[1, 2, 3, 4], vacuum=[0, 1], advance=[[10, 10, 20, 20], [10, 10, 20, 20]], uid="s")
        assert set(lines(chart)) == {"15°", "20°"}
        columns = [nodes_at(chart, place)[1] for place in corners(lines(chart)["20°"].d)]
        assert columns == pytest.approx([2.0] * len(columns), abs=0.01)

    def test_degrees_after_dead_centre_have_their_lines_too(self):
        chart = surface_chart(rpm=[1, 2], vacuum=[0, 1], advance=[[-12, 3], [-12, 3]], uid="s")
        assert set(lines(chart)) == {"-10°", "-5°", "0°"}

    def test_every_line_has_a_pale_line_under_it(self):
        layers = drawn().contours
        for pale, dark in zip(layers[::2], layers[1::2], strict=True):
            assert (pale.name, pale.style) == ("contour-halo", styles.contour_halo(PRINT))
            assert (dark.name, dark.style) == (f"contour-{dark.label.rstrip('°')}", styles.contour(PRINT))
            assert pale.d == dark.d

    @pytest.mark.parametrize("seed", range(4))
    def test_along_a_line_the_surface_has_its_figure_by_scipy_s_reckoning(self, seed):
        table = np.random.default_rng(seed).uniform(0, 40, (4, 5))
        chart = surface_chart(rpm=SPEEDS, vacuum=VACUA, advance=table, uid="s")
        # Beyond the outer nodes the figures are held, half a cell wide.
        held = np.pad(table, 1, mode="edge")
        surface = RegularGridInterpolator(([-0.5, 0, 1, 2, 3, 3.5], [-0.5, 0, 1, 2, 3, 4, 4.5]), held)
        assert len(lines(chart)) >= 5
        for words, layer in lines(chart).items():
            rows, columns = np.transpose([nodes_at(chart, place) for place in corners(layer.d)])
            crossing = np.column_stack([rows.clip(-0.5, 3.5), columns.clip(-0.5, 4.5)])
            assert surface(crossing) == pytest.approx(float(words.rstrip("°")), abs=0.05)

    def test_a_line_runs_through_the_cell_where_the_surface_has_that_figure(self):
        chart = drawn()
        # By hand at 800 rpm: 8 + 14/30 (v - 10) = 15 at 25 kPa, a quarter of the way from 20 to 40 kPa.
        x = cell(chart, 0, 0).text_x
        y = cell(chart, 1, 0).y + chart.cell_height / 2 - 0.25 * chart.cell_height
        assert any(place == pytest.approx((x, y), abs=0.02) for place in corners(lines(chart)["15°"].d))

    def test_lines_reach_the_edge_and_stay_inside(self):
        chart = drawn()
        left, right = cell(chart, 0, 0).x, cell(chart, 0, 4).x + chart.cell_width
        top, bottom = cell(chart, 3, 0).y, cell(chart, 0, 0).y + chart.cell_height
        for layer in chart.contours:
            places = corners(layer.d)
            assert all(left - 0.02 <= x <= right + 0.02 and top - 0.02 <= y <= bottom + 0.02 for x, y in places)
            assert any(min(x - left, right - x, y - top, bottom - y) < 0.02 for x, y in places)


class TestLettering:
    def test_a_speed_stands_under_every_column_and_a_vacuum_beside_every_row(self):
        chart = drawn()
        bottom = cell(chart, 0, 0).y + chart.cell_height
        for column, rpm in enumerate(SPEEDS):
            text = said(chart, str(rpm))
            assert (text.x, text.anchor) == (cell(chart, 0, column).text_x, "middle")
            assert text.y == pytest.approx(bottom + LINE, abs=0.02)
        for row, vacuum in enumerate(VACUA):
            text = said(chart, str(vacuum))
            assert (text.x, text.anchor) == (pytest.approx(cell(chart, 0, 0).x - ASIDE, abs=0.01), "end")
            middle = cell(chart, row, 0).y + chart.cell_height / 2
            assert text.y == pytest.approx(middle + CENTRED, abs=0.02)

    def test_axes_and_lines_are_explained_at_the_corners(self):
        chart = drawn(contour_step=2.5, pressure_unit="inHg")
        over, speed, step = (
            said(chart, "manifold vacuum, inHg"),
            said(chart, "crank rpm"),
            said(chart, "lines every 2.5°"),
        )
        left, right = cell(chart, 0, 0).x, cell(chart, 0, 4).x + chart.cell_width
        assert (over.anchor, over.x) == ("start", INSET)
        assert cell(chart, 3, 0).y - over.y == HEAD
        assert (speed.anchor, speed.x) == ("end", pytest.approx(right, abs=0.02))
        assert (step.anchor, step.x) == ("start", pytest.approx(left, abs=0.02))
        assert speed.y == step.y == pytest.approx(said(chart, "800").y + LINE)
        assert [over.css, speed.css, step.css] == ["chart-name", "chart-name", "chart-figure"]

    def test_figures_are_in_pencil_and_names_in_ink(self):
        chart = drawn()
        assert misprinted(chart) == []
        inks = {text.text: ink_of(text) for text in chart.texts}
        assert inks["800"] == inks["60"] == "pencil"
        assert inks["crank rpm"] == inks["manifold vacuum, kPa"] == "ink"

    @pytest.mark.parametrize("width", [240, 360, 720, 1200])
    @pytest.mark.parametrize("columns", [2, 5, 13, 16])
    def test_nothing_printed_covers_anything_and_no_speed_is_left_out_without_need(self, width, columns):
        speeds = np.linspace(500, 8000, columns)
        chart = surface_chart(
            rpm=speeds, vacuum=[-80, 0, 60], advance=TOTAL.table(rpm=speeds, vacuum=[-80, 0, 60]), uid="s", width=width
        )
        assert misprinted(chart) == []
        foot = {"crank rpm", "lines every 5°"} if width == 240 else set()  # there they meet, by generous reckoning
        texts = [text for text in chart.texts if text.text not in foot]
        assert not [(a.text, b.text) for a, b in combinations(texts, 2) if touches(a, b)]
        under = [text.x for text in texts if text.text in {f"{rpm:.0f}" for rpm in speeds}]
        pitch = under[1] - under[0]
        assert pitch >= width_of("8000") + GAP
        assert pitch - chart.cell_width < width_of("8000") + GAP

    def test_the_names_of_rows_have_their_room_and_the_cells_the_rest(self):
        for vacua in ([0, 60], [-80, 60]):
            chart = surface_chart(rpm=[1000, 2000, 3000], vacuum=vacua, advance=np.zeros((2, 3)), uid="s")
            first, last = cell(chart, 0, 0), cell(chart, 0, 2)
            longest = max(width_of(text.text) for text in chart.texts if text.x < first.x and text.anchor == "end")
            assert first.x == pytest.approx(longest + ASIDE + GAP, abs=0.011)
            assert last.x + chart.cell_width == pytest.approx(chart.width - MARGIN, abs=0.02)

    def test_the_paper_ends_shortly_under_the_last_line(self):
        chart = drawn()
        assert chart.height - said(chart, "crank rpm").y == pytest.approx(GAP)

    def test_boost_is_called_boost(self):
        chart = surface_chart(rpm=[1000, 2000], vacuum=[-40, 0], advance=[[8, 10], [12, 14]], uid="s")
        assert said(chart, "boost 40").css == "chart-figure"
        assert said(chart, "0")


class TestPlaces:
    def test_every_place_is_to_a_hundredth(self):
        speeds = np.linspace(500, 6500, 13)  # thirteenths do not end
        chart = surface_chart(
            rpm=speeds,
            vacuum=VACUA,
            advance=TOTAL.table(rpm=speeds, vacuum=VACUA),
            uid="s",
            visits=np.arange(52).reshape(4, 13) + 1.0,
            points=[SurfacePoint("idle", rpm=777, vacuum=33)],
            contour_step=7,
        )
        places = [chart.cell_width, chart.cell_height, chart.height]
        for cell_ in chart.cells:
            places += [cell_.x, cell_.y, cell_.text_x, cell_.text_y, cell_.visit_width, cell_.visit_y]
        for point in chart.points:
            places += [point.x, point.y, point.text_x, point.text_y, point.slip_x, point.slip_y, point.slip_width]
        places += [place for text in chart.texts for place in (text.x, text.y)]
        assert [place for place in places if place != round(place, 2)] == []
        bottom = cell(chart, 0, 0).y + chart.cell_height
        assert said(chart, "500").y == pytest.approx(bottom + LINE, abs=0.02)
        assert said(chart, "crank rpm").y == pytest.approx(bottom + 2 * LINE, abs=0.02)
        assert chart.height == pytest.approx(bottom + 2 * LINE + GAP, abs=0.02)


class TestWords:
    def test_the_drawing_says_every_row_and_every_named_place(self):
        chart = surface_chart(
            rpm=[1000, 1500, 2000],
            vacuum=[-12, 0, 9],
            advance=[[8, 10.5, 9], [12, -3, 10], [11, 11, 11]],
            uid="s",
            pressure_unit="inHg",
            points=[
                SurfacePoint("full load near TDC", rpm=2000, vacuum=-6.04),
                SurfacePoint("idle", rpm=1000, vacuum=0),
            ],
        )
        assert chart.description == (
            "−3° to 12° before top dead centre, from 1000 to 2000 rpm and from boost 12 to 9 inHg. "
            "At boost 12 inHg: 8°, 10.5°, 9°. At 0 inHg: 12°, −3°, 10°. At 9 inHg: 11°, 11°, 11°. "
            "Full load near TDC: 2000 rpm, boost 6 inHg. Idle: 1000 rpm, 0 inHg."
        )

    def test_it_bears_its_name_and_its_title(self):
        chart = drawn(title="Total of version 3")
        assert (chart.uid, chart.title, chart.width) == ("s", "Total of version 3", 720)
        assert chart.kind == "surface"
        assert drawn().title == "Total advance over engine speed and vacuum"

    def test_it_is_narrow_on_a_phone(self):
        assert drawn(width=479).narrow
        assert not drawn(width=480).narrow
        assert math.isclose(drawn(width=479).width, 479)
