"""The vacuum part over vacuum: the ramp of the handbook, the rows of a table, and what is named beside them."""

import re
from itertools import pairwise

import numpy as np
import pytest

from tests.timing.charts.drawn import NUMBER, corners, figures, one
from tests.timing.charts.inked import lettering, misprinted, said, touches
from timing.charts import PRINT, styles, vacuum_chart
from timing.charts.marks import upright_crosses
from timing.charts.page import ASIDE, CENTRED, GAP, LETTER, MARGIN, width_of
from timing.charts.text import DELIVERED, TARGET, opening
from timing.errors import TimingError

RAMP = [(10, 0), (40, 14)]  # handbook section 4
ROWS = [
    (1000, [(0, 0), (60, 6)]),
    (2500, [(0, 5), (30, 12), (60, 16)]),
    (4000, [(0, 5), (60, 16)]),
    (800, [(0, 0), (60, 0)]),
]


def drawn(**layers):
    return vacuum_chart(uid="v", **layers)


def everything(**look):
    return drawn(
        ramp=RAMP,
        target=[(12, 0), (38, 14)],
        earlier=[("version 1", [(5, 0), (30, 9)]), ("version 2", RAMP)],
        readings=[(40, 13.5), (20, 4.5)],
        idle_vacuum=58,
        most_vacuum=71,
        **look,
    )


class TestTheRamp:
    @pytest.mark.parametrize(
        ("vacuum", "added"), [(10, 0), (20, 4.666667), (25, 7), (40, 14), (60, 14)]
    )  # handbook section 4
    def test_the_ramp_is_drawn_as_the_handbook_counts_it(self, vacuum, added):
        chart = drawn(ramp=RAMP, most_vacuum=71.3)
        line = figures(one(chart.layers, "unit"), chart.plot)
        assert np.interp(vacuum, *zip(*line, strict=True)) == pytest.approx(added, abs=0.02)

    def test_every_curve_is_held_from_edge_to_edge(self):
        chart = everything()
        edges = pytest.approx((chart.plot.left, chart.plot.right), abs=0.01)
        for layer in chart.layers:
            if layer.name != "readings":
                places = corners(layer.d)
                assert (places[0][0], places[-1][0]) == edges
                assert (places[0][1], places[-1][1]) == (places[1][1], places[-2][1])

    def test_boost_lies_left_of_nought_and_retard_below_it(self):
        chart = drawn(ramp=[(-80, -8), (0, 0), (30, 10)])
        assert chart.plot.across.low <= -80
        assert chart.plot.up.low <= -8

    @pytest.mark.parametrize("ramp", [RAMP, [(2, 4), (5, 14)], [(3, 6), (12, 9)]])
    def test_without_boost_the_axes_begin_at_nought(self, ramp):
        chart = drawn(ramp=ramp)
        assert (chart.plot.across.low, chart.plot.up.low) == (0, 0)

    @pytest.mark.parametrize(
        ("lowest", "full", "low", "high"),
        [
            (10, 40, 0, 45),  # 40 in eight parts or fewer: steps of 5; a twenty-fifth beyond the ramp
            (10, 42, 0, 50),  # 42 in eight or fewer: steps of 10
            (-80, 38, -80, 60),  # 118 in all: steps of 20, and a twenty-fifth of 118 beyond 38
            (-90, 30, -100, 40),
        ],
    )
    def test_the_axis_of_vacuum_ends_at_round_steps_of_its_whole_length(self, lowest, full, low, high):
        across = drawn(ramp=[(lowest, -4), (full, 14)]).plot.across
        assert (across.low, across.high) == (low, high)

    @pytest.mark.parametrize("full", [40, 50, 60, 10.15])
    def test_there_is_room_beyond_the_ramp_to_see_it_held(self, full):
        chart = drawn(ramp=[(3, 0), (full, 14)])
        assert full * 1.04 - 0.12 <= chart.plot.across.high <= full * 1.3

    @pytest.mark.parametrize(("highest", "top"), [(3, 15), (13.9, 15), (14, 15), (14.1, 20), (22, 25)])
    def test_the_axis_of_degrees_ends_at_a_round_five_a_degree_above_all_and_shows_fifteen(self, highest, top):
        assert drawn(ramp=[(10, 0), (40, highest)]).plot.up.high == top

    def test_a_capsule_s_few_kilopascals_are_spread_over_the_drawing(self):
        chart = drawn(readings=[(0, 0), (0.5, 1)])
        assert chart.plot.across.high == pytest.approx(0.6)  # 1 kPa in eight parts or fewer: steps of 0.2

    def test_limits_asked_for_are_kept(self):
        chart = drawn(ramp=RAMP, vacuum_limits=(-20, 80), degrees_limits=(-5, 40))
        across, up = chart.plot.across, chart.plot.up
        assert (across.low, across.high, up.low, up.high) == (-20, 80, -5, 40)

    @pytest.mark.parametrize(
        ("width", "height"),
        [(720, 288), (1000, 400), (360, 213)],  # two fifths, but for a phone never less than 200 and a line
    )
    def test_the_plot_is_two_fifths_as_high_as_it_is_wide_and_no_strip_on_a_phone(self, width, height):
        assert drawn(ramp=RAMP, width=width).plot.height == pytest.approx(height)


class TestLayers:
    def test_what_is_given_is_drawn_in_the_pen_of_its_kind_and_named_in_the_key(self):
        chart = everything()
        assert [(layer.name, layer.style, layer.label) for layer in chart.layers] == [
            ("earlier", styles.earlier(PRINT, 0), "version 1"),
            ("earlier", styles.earlier(PRINT, 1), "version 2"),
            ("unit", styles.delivered(PRINT), DELIVERED),
            ("wanted", styles.target(PRINT), TARGET),
            ("readings", styles.reading(PRINT), "strobe"),
        ]
        drawn_in = {layer.label: layer.style for layer in chart.layers}
        assert {entry.text.text: entry.layer.style for entry in chart.key} == drawn_in

    def test_the_key_shows_a_cross_for_readings_and_a_line_for_lines(self):
        samples = {entry.text.text: entry.layer.d for entry in everything().key}
        assert samples.pop("strobe").count("V") == 1
        assert all(len(corners(d)) == 2 for d in samples.values())

    @pytest.mark.parametrize(
        ("layers", "names"),
        [
            ({"ramp": RAMP}, [DELIVERED]),
            ({"target": RAMP}, [TARGET]),
            ({"readings": RAMP}, ["strobe"]),
            (
                {"ramp": RAMP, "earlier": [("version 1", []), ("version 2", RAMP)]},
                [DELIVERED, "version 2"],
            ),
            ({"rows": ROWS}, []),  # their names stand beside them
        ],
    )
    def test_what_is_not_given_is_neither_drawn_nor_in_the_key(self, layers, names):
        chart = drawn(**layers)
        assert [entry.text.text for entry in chart.key] == names
        assert [layer.label for layer in chart.layers if layer.name != "row"] == (
            names[::-1] if "earlier" in layers else names
        )

    def test_a_version_without_a_vacuum_part_leaves_the_dash_of_the_others_alone(self):
        chart = drawn(ramp=RAMP, earlier=[("version 1", []), ("version 2", RAMP)])
        assert one(chart.layers, "earlier").style == styles.earlier(PRINT, 1)
        assert chart.key[1].layer.style == styles.earlier(PRINT, 1)

    def test_readings_are_crosses_where_they_were_read(self):
        chart = drawn(readings=[(40, 13.5), (20, 4.5)])
        places = [chart.plot.at(40, 13.5), chart.plot.at(20, 4.5)]
        assert one(chart.layers, "readings").d == upright_crosses(places)


class TestRows:
    def test_the_rows_of_a_table_are_named_beside_their_ends_without_touching(self):
        chart = drawn(rows=ROWS)
        names = [text for text in chart.texts if text.text.endswith("rpm")]
        assert {text.text for text in names} == {"1000 rpm", "2500 rpm", "4000 rpm", "800 rpm"}
        heights = sorted(text.y for text in names)
        assert all(after - before >= 14.9 for before, after in pairwise(heights))
        assert all(text.x + width_of(text.text) <= chart.width for text in names)
        assert max(heights) < chart.plot.bottom + 5
        assert misprinted(chart) == []

    def test_a_name_stands_level_with_the_end_of_its_row(self):
        chart = drawn(rows=ROWS[:2])
        for text, (_, height) in zip(
            (said(chart, "1000 rpm"), said(chart, "2500 rpm")), ((60, 6), (60, 16)), strict=True
        ):
            assert text.y == pytest.approx(chart.plot.up.at(height) + CENTRED, abs=0.01)
            assert text.css == "chart-figure"

    def test_rows_that_meet_at_their_ends_are_named_in_the_order_in_which_they_lie_before_that(self):
        # All full from 60 on. At 40, from the top: 2000, 800, 10000, 1000; an order by the letters would be another.
        at_40 = {800: 9, 1000: 2, 2000: 12, 10000: 5}
        chart = drawn(rows=[(rpm, [(0, 0), (40, height), (60, 16)]) for rpm, height in at_40.items()])
        names = sorted((text for text in chart.texts if text.text.endswith("rpm")), key=lambda text: text.y)
        assert [text.text for text in names] == ["2000 rpm", "800 rpm", "10000 rpm", "1000 rpm"]

    def test_rows_that_lie_on_one_another_are_named_in_their_own_order(self):
        chart = drawn(rows=[(rpm, [(0, 0), (60, 16)]) for rpm in (800, 1000, 10000)])
        names = sorted((text for text in chart.texts if text.text.endswith("rpm")), key=lambda text: text.y)
        assert [text.text for text in names] == ["800 rpm", "1000 rpm", "10000 rpm"]

    def test_every_row_is_drawn_through_its_figures_in_one_pen(self):
        chart = drawn(rows=ROWS)
        rows = [layer for layer in chart.layers if layer.name == "row"]
        assert [layer.label for layer in rows] == ["1000 rpm", "2500 rpm", "4000 rpm", "800 rpm"]
        assert {layer.style for layer in rows} == {styles.row(PRINT)}
        assert figures(rows[1], chart.plot)[0] == pytest.approx((0, 5), abs=0.05)
        assert np.interp(60, *zip(*figures(rows[1], chart.plot), strict=True)) == pytest.approx(16, abs=0.05)

    def test_the_plot_leaves_the_names_of_rows_their_room_and_takes_it_where_there_are_none(self):
        beside, alone = drawn(rows=ROWS), drawn(ramp=RAMP)
        assert beside.width - beside.plot.right == pytest.approx(width_of("1000 rpm") + ASIDE + GAP)
        assert alone.width - alone.plot.right == MARGIN

    def test_a_row_without_figures_is_left_out(self):
        chart = drawn(rows=[(1000, []), (2000, [(0, 0), (60, 6)])])
        assert [layer.label for layer in chart.layers] == ["2000 rpm"]
        assert "1000 rpm" not in chart.description
        assert "1000 rpm" not in {text.text for text in chart.texts}


class TestNodes:
    def test_nodes_are_those_of_the_ramp_and_say_their_figures(self):
        chart = drawn(ramp=RAMP, pressure_unit="inHg", selected=1)
        told = [(node.index, node.across, node.up, node.spoken, node.selected) for node in chart.nodes]
        assert told == [(0, 10, 0, "0° at 10 inHg", False), (1, 40, 14, "14° at 40 inHg", True)]

    def test_nodes_stand_at_their_figures_to_a_hundredth(self):
        chart = drawn(ramp=[(9.37, 0.77), (41.13, 13.31)])
        for node in chart.nodes:
            assert (node.x, node.y) == tuple(round(place, 2) for place in chart.plot.at(node.across, node.up))

    def test_other_nodes_take_their_place(self):
        chart = drawn(ramp=RAMP, nodes=[(5, 1), (20, 22)])
        assert [(node.across, node.up) for node in chart.nodes] == [(5, 1), (20, 22)]
        assert chart.plot.up.high >= 22

    def test_no_nodes_at_all_can_be_asked_for(self):
        assert drawn(ramp=RAMP, nodes=[]).nodes == ()

    def test_the_editor_is_told_that_nodes_move_and_by_how_much(self):
        chart = drawn(ramp=RAMP, editable=True, step=0.5)
        assert (chart.editable, chart.step) == (True, 0.5)
        assert (drawn(ramp=RAMP).editable, drawn(ramp=RAMP).step) == (False, None)


class TestNames:
    def test_idle_and_the_most_there_is_are_named_in_the_unit_of_the_drawing(self):
        chart = drawn(ramp=[(3, 0), (12, 14)], idle_vacuum=18, most_vacuum=21.1, pressure_unit="inHg")
        assert {text.text for text in chart.texts} == {"idle 18 inHg", "most there is 21.1 inHg"}
        assert chart.plot.across_name == "manifold vacuum, inHg"
        assert "Idle 18 inHg. Most there is 21.1 inHg." in chart.description

    def test_rules_stand_at_their_vacuum_in_pencil(self):
        chart = everything()
        assert [layer.name for layer in chart.rules] == ["idle", "vacuum"]
        for layer, vacuum in zip(chart.rules, (58, 71), strict=True):
            assert layer.style == styles.rule(PRINT, layer.name)
            assert {round(chart.plot.across.value(x), 1) for x, _ in corners(layer.d)} == {vacuum}

    def test_a_rule_beyond_the_ramp_widens_the_axis(self):
        assert drawn(ramp=RAMP, most_vacuum=71).plot.across.high >= 71

    def test_the_names_of_rules_lie_over_the_plot_under_the_name_of_the_axis(self):
        chart = everything()
        for words in ("idle 58 kPa", "most there is 71 kPa"):
            assert said(chart, words).y < chart.plot.top
            assert said(chart, words).y > said(chart, "degrees of crank added").y + LETTER

    @pytest.mark.parametrize("width", [360, 480, 720, 1000])
    def test_no_name_covers_another_or_leaves_the_paper(self, width):
        chart = everything(width=width, rows=ROWS)
        assert misprinted(chart) == []
        printed = [text for text in lettering(chart) if not re.fullmatch(rf"−?{NUMBER}°?", text.text)]
        assert not [(a.text, b.text) for i, a in enumerate(printed) for b in printed[:i] if touches(a, b)]

    def test_the_axes_say_what_they_show(self):
        chart = drawn(ramp=RAMP)
        assert (chart.plot.across_name, chart.plot.up_name) == ("manifold vacuum, kPa", "degrees of crank added")
        assert said(chart, "15°").y == pytest.approx(chart.plot.top + LETTER * 0.36, abs=0.01)
        assert {"0", "10", "40"} <= {text.text for text in chart.panels[0].texts}


class TestWords:
    def test_the_drawing_says_every_figure_it_shows(self):
        chart = everything(rows=[(2500, [(0, 5), (60, 16)])], from_rpm=1200)
        assert chart.description == (
            f"{opening(DELIVERED)}: 0° at 10, 14° at 40 kPa. "
            f"{opening(TARGET)}: 0° at 12, 14° at 38 kPa. "
            "At 2500 rpm: 5° at 0, 16° at 60 kPa. "
            "Version 1: 0° at 5, 9° at 30 kPa. "
            "Version 2: 0° at 10, 14° at 40 kPa. "
            "Strobe: 4.5° at 20, 13.5° at 40 kPa. "  # in the order of vacuum, whatever order they were read in
            "Acts from 1200 rpm. "
            "Idle 58 kPa. Most there is 71 kPa."
        )

    def test_a_part_that_acts_from_standstill_does_not_say_from_when(self):
        assert drawn(ramp=RAMP).description == f"{opening(DELIVERED)}: 0° at 10, 14° at 40 kPa."
        assert "Acts from 1 rpm." in drawn(ramp=RAMP, from_rpm=1).description

    def test_it_bears_its_kind_its_name_and_its_title(self):
        chart = drawn(ramp=RAMP, title="Capsule, pumped by hand")
        assert (chart.kind, chart.uid, chart.title) == ("vacuum", "v", "Capsule, pumped by hand")
        assert drawn(ramp=RAMP).title == "Advance over manifold vacuum"


@pytest.mark.parametrize(
    ("layers", "message"),
    [
        ({}, "^there is nothing to draw: no vacuum part and no reading$"),
        ({"ramp": [(40, 14), (10, 0)]}, "^the vacuum part must rise"),
        ({"rows": [(1500, [(2, 1), (1, 1)])]}, "^the row of 1500 rpm must rise"),
        ({"target": [(2, 1), (1, 1)]}, "^the target of the vacuum part must rise"),
        ({"earlier": [("3", [(2, 1), (1, 1)])]}, "^version 3 must rise"),
        ({"ramp": RAMP, "nodes": [(2, 1), (1, 1)]}, "^the nodes must rise"),
        ({"readings": [(2, float("nan"))]}, "^the readings must be a finite number"),
    ],
)
def test_what_cannot_be_drawn_is_refused_by_its_name(layers, message):
    with pytest.raises(TimingError, match=f"^{message}"):
        drawn(**layers)
