"""A whole drawing on graph paper: what it takes, where its plot lies, and how it is put together."""

import math
import re

import numpy as np
import pytest

from timing.charts import PRINT, ChartError, styles
from timing.charts.findings import PlacedFinding
from timing.charts.layout import ABOVE, BELOW, FOOT, check_width, on_one_sheet, sheet_plot
from timing.charts.marks import KEY_ROW, Node, Rule
from timing.charts.page import ASIDE, GAP, HEAD, LETTER, LINE, MARGIN, ROW, Text, degrees_axis, rpm_axis, width_of
from timing.charts.points import curve, extended, pairs, triples, value_at
from timing.charts.styles import Layer
from timing.charts.text import DELIVERED
from timing.errors import TimingError

RPM, DEGREES = rpm_axis(0, 6000), degrees_axis(0, 40, "degrees of crank")


def whole(message: str) -> str:
    return f"^{re.escape(message)}$"


class TestWhatItTakes:
    def test_pairs_are_taken_from_lists_tuples_and_arrays_and_come_out_as_floats(self):
        for points in ([[1000, 2], [500, 1]], iter([(1000, 2), (500, 1)]), np.array([(1000, 2), (500, 1)])):
            taken = pairs(points, "the readings")
            assert taken == ((1000.0, 2.0), (500.0, 1.0))
            assert all(type(figure) is float for pair in taken for figure in pair)

    def test_nothing_is_no_pair_no_curve_and_no_band(self):
        assert pairs([], "x") == curve([], "x") == triples([], "x") == ()

    @pytest.mark.parametrize("points", [[(1, 2, 3)], [1, 2], [[(1, 2), (3, 4)]]])
    def test_what_is_no_pair_is_refused_by_name(self, points):
        with pytest.raises(ChartError, match=whole("the readings must be pairs of figures")):
            pairs(points, "the readings")

    @pytest.mark.parametrize("take", [pairs, curve, triples])
    def test_what_is_no_finite_figure_is_refused_by_name(self, take):
        with pytest.raises(TimingError, match=r"^the old curve must be"):
            take([(1000, math.nan, 3)], "the old curve")

    @pytest.mark.parametrize(("second", "said"), [(1000, "1000 follows 1000"), (900.5, "900.5 follows 1000")])
    def test_a_curve_rises_along_the_axis(self, second, said):
        with pytest.raises(ChartError, match=whole(f"the curve delivered must rise along the axis, but {said}")):
            curve([(500, 0), (1000, 2), (second, 4)], "the curve delivered")
        assert curve([(500, 9), (1000, 2)], "the curve delivered") == ((500, 9), (1000, 2))  # its degrees may fall

    def test_a_band_is_rows_of_three_that_rise_and_are_the_right_way_up(self):
        assert triples([(800, 0, 1), (900, 2, 2)], "the band") == ((800, 0, 1), (900, 2, 2))
        for rows in ([(800, 1)], [800, 0, 1], [(800, 0, 1, 2)]):
            with pytest.raises(
                ChartError, match=whole("the band must be rows of a place, a lowest and a highest figure")
            ):
                triples(rows, "the band")
        with pytest.raises(ChartError, match=whole("the band must rise along the axis, but 700 follows 800")):
            triples([(800, 0, 1), (700, 0, 1)], "the band")
        with pytest.raises(ChartError, match=whole("the band has its lowest 5 above its highest 2 at 1000")):
            triples([(800, 0, 1), (1000, 5, 2)], "the band")


class TestHeldCurves:
    CURVE = ((1000.0, 2.0), (2000.0, 8.0), (3000.0, 6.0))

    def test_ends_are_held_out_to_the_edges(self):
        assert extended(self.CURVE, low=0, high=6000) == [(0, 2), *self.CURVE, (6000, 6)]

    def test_retard_is_held_as_well(self):
        assert extended([(1000, -5), (3000, 9000)], low=0, high=6000) == [
            (0, -5),
            (1000, -5),
            (3000, 9000),
            (6000, 9000),
        ]

    def test_a_curve_that_reaches_the_edges_is_left_as_it_is(self):
        assert (
            extended(self.CURVE, low=1000, high=3000) == extended(self.CURVE, low=1500, high=2500) == list(self.CURVE)
        )

    @pytest.mark.parametrize(("at", "expected"), [(0, 2), (1000, 2), (1500, 5), (2500, 7), (9000, 6)])
    def test_its_value_lies_on_the_straights_and_is_held_beyond_them(self, at, expected):
        value = value_at(self.CURVE, at)  # by hand
        assert value == pytest.approx(expected)
        assert type(value) is float


class TestWhereThePlotLies:
    @pytest.mark.parametrize(("width", "height"), [(720, 374), (480, 250), (479, 374), (360, 281)])
    def test_it_is_about_half_as_high_as_wide_and_taller_on_a_phone(self, width, height):
        plot = sheet_plot(RPM, DEGREES, width=width)  # 0.52 of the width, below 480 0.78
        assert plot.height == height

    def test_its_scales_are_those_of_its_axes_and_figures_rise_up_the_page(self):
        plot = sheet_plot(rpm_axis(500, 6000), degrees_axis(-5, 40, "degrees"), width=720)
        assert (plot.across.low, plot.across.high) == (500, 6000)
        assert (plot.up.low, plot.up.high) == (-5, 40)
        assert (plot.across_name, plot.up_name) == ("crank rpm", "degrees")
        assert plot.top < plot.bottom
        assert plot.left < plot.right

    @pytest.mark.parametrize(("low", "letters"), [(0, 3), (-5, 3), (-10, 4)])
    def test_the_longest_figure_beside_it_has_room_on_the_drawing(self, low, letters):
        plot = sheet_plot(RPM, degrees_axis(low, 40, "degrees"), width=720)  # such as −10°
        assert plot.left == pytest.approx(width_of("0" * letters) + ASIDE + GAP, abs=0.006)
        assert plot.left == round(plot.left, 2)

    def test_it_may_be_asked_to_begin_further_in_but_never_further_out(self):
        assert sheet_plot(RPM, DEGREES, width=720, left=99.123).left == 99.12
        assert sheet_plot(RPM, DEGREES, width=720, left=5) == sheet_plot(RPM, DEGREES, width=720)

    def test_half_of_the_last_figure_or_the_names_of_lines_have_room_at_its_right(self):
        assert sheet_plot(RPM, DEGREES, width=720).right == 720 - MARGIN
        assert sheet_plot(RPM, DEGREES, width=720, room=5).right == 720 - MARGIN
        assert sheet_plot(RPM, DEGREES, width=720, room=120.456).right == 599.54

    def test_its_height_may_be_given(self):
        assert sheet_plot(RPM, DEGREES, width=720, plot_height=111).height == 111

    def test_its_head_holds_the_name_of_the_axis_and_begins_where_it_is_told(self):
        head = ABOVE + LETTER + HEAD
        assert sheet_plot(RPM, DEGREES, width=720).top == head
        assert sheet_plot(RPM, DEGREES, width=720, top=400).top == 400 + head

    def test_its_head_has_a_row_for_every_row_of_names_of_rules(self):
        plain = sheet_plot(RPM, DEGREES, width=720)
        rules = [Rule("limit", 3000, "limit 3000"), Rule("red-line", 3100, "red 3100"), Rule("idle", 9000, "beyond")]
        lifted = sheet_plot(RPM, DEGREES, width=720, rules=rules)
        assert lifted.top == plain.top + 2 * ROW
        assert (lifted.height, lifted.across) == (plain.height, plain.across)

    @pytest.mark.parametrize("width", [239.9, 0, -10])
    def test_a_drawing_too_narrow_to_read_is_refused(self, width):
        for refuse in (check_width, lambda width: sheet_plot(RPM, DEGREES, width=width)):
            with pytest.raises(ChartError, match=whole(f"a drawing must be 240 or wider, not {width:g}")):
                refuse(width)
        check_width(240)


class TestPuttingTogether:
    LAYER = Layer("unit", styles.delivered(PRINT), "M0 0L1 1")
    NODE = Node(0, 1.0, 2.0, 500.0, 0.0, "0° at 500 rpm")
    FINDING = PlacedFinding("A", "note", "flat", 1.0, 2.0, 3.0, "M0 0", "M0 0", PRINT.ink)
    TEXT = Text(1.0, 2.0, "idle 850")

    def sheet(self, **more):
        plot = sheet_plot(RPM, DEGREES, width=720)
        given = {"uid": "a-b_1", "kind": "speed", "title": "Title", "description": "Words.", "width": 720, "plot": plot}
        return on_one_sheet(**(given | {"across": RPM, "up": DEGREES, "palette": PRINT} | more))

    def test_every_part_comes_to_its_place(self):
        graph = self.sheet(
            under=[self.LAYER],
            rules=[self.LAYER, self.LAYER],
            layers=[self.LAYER] * 3,
            nodes=[self.NODE],
            findings=[self.FINDING],
            texts=[self.TEXT],
            editable=True,
            step=0.5,
        )
        assert (graph.uid, graph.kind, graph.title, graph.description) == ("a-b_1", "speed", "Title", "Words.")
        assert (graph.width, graph.palette, graph.editable, graph.step) == (720, PRINT, True, 0.5)
        assert (len(graph.under), len(graph.rules), len(graph.layers)) == (1, 2, 3)
        assert (graph.nodes, graph.findings, graph.texts) == ((self.NODE,), (self.FINDING,), (self.TEXT,))

    def test_parts_that_are_not_asked_for_are_not_there(self):
        graph = self.sheet()
        parts = (graph.under, graph.rules, graph.layers, graph.nodes, graph.findings, graph.texts, graph.key)
        assert parts == ((),) * 7
        assert (graph.editable, graph.step) == (False, None)

    def test_the_drawing_ends_below_the_foot_of_its_plot_or_below_the_key(self):
        plain = self.sheet()
        assert plain.height == pytest.approx(plain.plot.bottom + FOOT + BELOW)
        assert plain.plot.bottom + 2 * LINE < plain.height  # figures and the name of the axis
        keyed = self.sheet(key=[(styles.delivered(PRINT), "line", DELIVERED)])
        assert keyed.height == plain.height + KEY_ROW

    def test_the_key_stands_beneath_the_foot_between_the_edges_of_the_plot(self):
        entries = [(styles.delivered(PRINT), "line", "a line with a long name") for _ in range(4)]
        graph = self.sheet(key=entries)
        first = graph.key[0].text
        assert first.y > graph.plot.bottom + FOOT
        assert first.fill == PRINT.ink
        assert graph.key[0].layer.d.startswith(f"M{graph.plot.left:g} ")
        assert all(entry.text.x + width_of(entry.text.text) <= graph.plot.right for entry in graph.key)
        assert len({entry.text.y for entry in graph.key}) == 2

    def test_the_paper_is_laid_for_its_axes_with_a_foot_and_the_name_above_the_rows_of_rules(self):
        flat, lifted = self.sheet(), self.sheet(rows=2)
        names = [{text.text: text.y for text in graph.panels[0].texts} for graph in (flat, lifted)]
        assert names[0]["degrees of crank"] - names[1]["degrees of crank"] == 2 * ROW
        assert names[0]["crank rpm"] == names[1]["crank rpm"]
        assert {text.fill for text in flat.panels[0].texts} == {PRINT.pencil, PRINT.ink}
        assert flat.plot == flat.panels[0].plot

    @pytest.mark.parametrize("uid", ["", "a b", 'x"', "<", "a.b", "a/b"])
    def test_a_name_that_could_not_stand_in_an_id_is_refused(self, uid):
        message = f"the name of a drawing is letters, digits, '-' and '_', not '{uid}'"
        with pytest.raises(ChartError, match=whole(message)):
            self.sheet(uid=uid)

    @pytest.mark.parametrize("uid", ["speed", "sweep-wide", "a_b", "7"])
    def test_letters_digits_hyphen_and_underscore_may_stand_in_one(self, uid):
        assert self.sheet(uid=uid).uid == uid

    @pytest.mark.parametrize(("width", "narrow"), [(479, True), (480, False), (720, False)])
    def test_below_480_it_is_narrow(self, width, narrow):
        assert self.sheet(width=width).narrow == narrow
