"""The speed chart and the sweep: every layer lies where its figures say."""

import math
from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.timing.charts.drawn import corners, distance_to_line, figures, one
from timing.charts import ChartError, FindingMark, band_rows, speed_chart, sweep_chart
from timing.charts.findings import MARK
from timing.charts.page import width_of
from timing.charts.text import DELIVERED
from timing.distributor import factory_band
from timing.errors import TimingError

# The worked case A1 of the project's handbook, section 4 (brute force, dynamic and integer programming agree).
WANTED = [(500, 0), (1000, 2), (1400, 9), (2200, 15), (3500, 22)]
UNIT = [(500, 0), (1000, 2), (1500, 10), (2500, 17), (3500, 22)]
BAND = [(800, 0, 1), (1200, 2, 6), (1800, 10, 14), (3000, 17, 21), (4500, 22, 26)]

# Half a hundredth of a unit of the drawing is what writing out costs.
RPM, DEG = 0.2, 0.005

curves = st.lists(
    st.tuples(st.integers(0, 80), st.integers(-10, 50)), min_size=1, max_size=14, unique_by=lambda p: p[0]
).map(lambda points: [(rpm * 100.0, float(deg)) for rpm, deg in sorted(points)])


class TestCurves:
    @given(points=curves)
    @settings(max_examples=60)
    def test_the_line_is_the_curve_with_its_ends_held_to_both_edges(self, points):
        chart = speed_chart(uid="c", delivered=points)
        line = figures(one(chart.layers, "unit"), chart.plot)
        assert line[0][0] == pytest.approx(chart.plot.across.low, abs=RPM)
        assert line[-1][0] == pytest.approx(chart.plot.across.high, abs=RPM)
        for rpm, height in line:  # against numpy.interp, which holds its ends
            nearest = np.interp(rpm, *zip(*points, strict=True))
            steep = max((abs(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(points)), default=0.0)
            assert height == pytest.approx(nearest, abs=DEG * 10 + steep * RPM)

    @given(points=curves, limit=st.integers(500, 9000))
    @settings(max_examples=60)
    def test_everything_given_lies_on_the_paper(self, points, limit):
        chart = speed_chart(uid="c", delivered=points, red_line_rpm=limit)
        plot = chart.plot
        assert all(plot.across.low <= rpm <= plot.across.high for rpm, _ in [*points, (limit, 0)])
        assert all(plot.up.low <= height < plot.up.high for _, height in points)
        assert plot.up.low <= 0

    def test_the_wanted_curve_is_dashed_and_earlier_ones_are_thinner_than_the_unit_s(self):
        chart = speed_chart(
            uid="c", delivered=UNIT, target=WANTED, earlier=[("version 1", UNIT), ("version 2", WANTED)]
        )
        unit, wanted = one(chart.layers, "unit").style, one(chart.layers, "wanted").style
        earlier = [layer.style for layer in chart.layers if layer.name == "earlier"]
        assert wanted.dash
        assert not unit.dash
        assert all(pen.width < unit.width and pen.stroke == chart.palette.pencil for pen in earlier)
        assert earlier[0].dash != earlier[1].dash

    def test_numpy_arrays_are_taken_like_lists(self):
        assert speed_chart(uid="c", delivered=np.array(UNIT)) == speed_chart(uid="c", delivered=UNIT)

    def test_nodes_carry_their_figures_and_the_selected_one_says_so(self):
        chart = speed_chart(uid="c", delivered=UNIT, selected=2)
        assert [(node.index, node.across, node.up) for node in chart.nodes] == [
            (index, *point) for index, point in enumerate(UNIT)
        ]
        assert [node.selected for node in chart.nodes] == [False, False, True, False, False]
        assert chart.nodes[2].spoken == "10° at 1500 rpm"
        assert (chart.nodes[2].x, chart.nodes[2].y) == pytest.approx(chart.plot.at(1500, 10), abs=0.006)

    def test_nodes_are_those_of_the_wanted_curve_until_there_is_a_unit_s(self):
        assert [(n.across, n.up) for n in speed_chart(uid="c", target=WANTED).nodes] == WANTED
        assert speed_chart(uid="c", delivered=UNIT, nodes=[]).nodes == ()


class TestTheDrawing:
    @pytest.mark.parametrize(
        ("draw", "layer", "kind", "title"),
        [
            (speed_chart, "delivered", "speed", "Advance over engine speed"),
            (sweep_chart, "rising", "sweep", "The old advance as found"),
        ],
    )
    def test_it_bears_its_kind_and_a_title(self, draw, layer, kind, title):
        chart = draw(uid="some-uid", **{layer: UNIT})
        assert (chart.uid, chart.kind, chart.title, chart.width) == ("some-uid", kind, title, 720)
        assert draw(uid="c", title="Another", **{layer: UNIT}).title == "Another"
        assert draw(uid="c", width=360, **{layer: UNIT}).width == 360

    @pytest.mark.parametrize(("draw", "layer"), [(speed_chart, "delivered"), (sweep_chart, "rising")])
    def test_it_is_as_wide_as_asked_and_its_plot_ends_at_its_right(self, draw, layer):
        plots = [draw(uid="c", width=width, **{layer: UNIT}).plot for width in (360, 720)]
        assert plots[1].right - plots[0].right == pytest.approx(360)
        given = draw(uid="c", rpm_limits=(100, 9100), degrees_limits=(-7, 33), **{layer: UNIT}).plot
        assert (given.across.low, given.across.high, given.up.low, given.up.high) == (100, 9100, -7, 33)

    def test_it_is_to_be_read_unless_it_is_to_be_edited(self):
        chart = speed_chart(uid="c", delivered=UNIT)
        assert (chart.editable, chart.step) == (False, None)
        chart = speed_chart(uid="c", delivered=UNIT, editable=True, step=0.5)
        assert (chart.editable, chart.step) == (True, 0.5)

    def test_a_node_is_spoken_with_its_speed_in_whole_rpm_and_placed_to_a_hundredth(self):
        [node] = speed_chart(uid="c", delivered=[(1234.6, 7.25)]).nodes
        assert node.spoken == "7.2° at 1235 rpm"
        assert (node.x, node.y) == (round(node.x, 2), round(node.y, 2))
        assert not node.selected

    def test_names_of_rules_and_of_the_deviation_are_all_printed(self):
        chart = speed_chart(uid="c", delivered=UNIT, target=WANTED, idle_rpm=850, rev_limit_rpm=6000, red_line_rpm=6200)
        assert [text.text for text in chart.texts] == ["idle 850", "rev limit 6000", "red line 6200", "0.6° apart"]
        chart = sweep_chart(uid="c", rising=UNIT, idle_rpm=850, red_line_rpm=6200)
        assert [text.text for text in chart.texts] == ["idle 850", "red line 6200"]


class TestLayersBeneath:
    def test_the_factory_band_is_outlined_by_both_its_curves(self):
        chart = speed_chart(uid="c", delivered=UNIT, band=BAND)
        area = figures(one(chart.under, "band"), chart.plot)
        for rpm, low, high in BAND:
            assert any(p == pytest.approx((rpm, low), abs=RPM) for p in area)
            assert any(p == pytest.approx((rpm, high), abs=RPM) for p in area)
        assert one(chart.under, "band").style.stroke == "none"
        assert one(chart.layers, "band-edge").style.fill == "none"

    def test_a_factory_band_in_distributor_units_is_drawn_in_crank_degrees(self):
        # Handbook section 4: the distributor's table and the crank band it becomes.
        table = [(400, 0, 0.5), (600, 1, 3), (900, 5, 7), (1500, 8.5, 10.5), (2250, 11, 13)]
        assert np.array(band_rows(factory_band(table))) == pytest.approx(np.array(BAND))
        assert band_rows(factory_band(table), base=8)[1] == pytest.approx((1200, 10, 14))

    def test_readings_are_crosses_centred_on_their_figures(self):
        chart = speed_chart(uid="c", delivered=UNIT, as_found=[(1600, 12), (1000, 3)])
        places = corners(one(chart.layers, "as-found").d)
        assert len(places) == 8
        centre = tuple(np.mean(places[:4], axis=0))
        assert centre == pytest.approx(chart.plot.at(1600, 12), abs=0.01)

    def test_the_key_names_what_is_drawn_and_nothing_else(self):
        chart = speed_chart(uid="c", delivered=UNIT, earlier=[("version 2", WANTED)], readings=[(900, 2)])
        assert [entry.text.text for entry in chart.key] == [DELIVERED, "version 2", "strobe"]

    def test_the_key_stays_on_the_drawing_and_its_rows_do_not_touch(self):
        chart = speed_chart(
            uid="c",
            delivered=UNIT,
            target=WANTED,
            band=BAND,
            as_found=[(900, 2)],
            readings=[(900, 2)],
            road_notes=[(2600, 17)],
            width=360,
            earlier=[("version 1", UNIT), ("version 2", WANTED)],
        )
        ends = [(entry.text.y, entry.text.x, entry.text.x + width_of(entry.text.text)) for entry in chart.key]
        assert all(end <= chart.width for _, _, end in ends)
        assert all(y < chart.height for y, _, _ in ends)
        for (y, _, end), (other_y, start, _) in pairwise(ends):
            assert end < start if y == other_y else other_y - y >= 15

    @pytest.mark.parametrize("width", [320, 360, 390])
    def test_the_name_of_a_deviation_at_the_foot_of_a_steep_curve_stands_clear_of_the_axis(self, width):
        unit = [(800, 0), (900, 0), (1300, 6), (2000, 12), (3400, 18), (4800, 21), (6000, 21)]
        chart = speed_chart(uid="c", delivered=unit, target=[(800, 0), (900, 0.5), *unit[2:]], width=width)
        name = next(text for text in chart.texts if "apart" in text.text)
        assert name.text == "0.5° apart"
        assert chart.plot.top < name.y < chart.plot.bottom


class TestRules:
    @given(speeds=st.lists(st.integers(300, 9000), min_size=3, max_size=3), width=st.sampled_from([320, 360, 720]))
    @settings(max_examples=100)
    def test_names_of_rules_never_touch_and_no_rule_crosses_one(self, speeds, width):
        idle, limit, red_line = speeds
        chart = speed_chart(
            uid="c", delivered=UNIT, idle_rpm=idle, rev_limit_rpm=limit, red_line_rpm=red_line, width=width
        )
        names = [text for text in chart.texts if "chart-rule-name" in text.css]
        assert len(names) == 3
        for name, other in combinations(names, 2):
            apart = (
                abs(name.y - other.y) >= 13
                or name.x < other.x - width_of(other.text)
                or other.x < name.x - width_of(name.text)
            )
            assert apart, (name, other)
        for name in names:
            assert name.x - width_of(name.text) >= 0
            for rule in chart.rules:
                (x, top), _ = corners(rule.d)
                if x > name.x:
                    continue  # names lie to the left of their rules
                reaches_it = top < name.y - 10
                assert not (reaches_it and name.x - width_of(name.text) < x < name.x - 1) or x < 120

    def test_rules_stand_at_their_speeds(self):
        chart = speed_chart(uid="c", delivered=UNIT, idle_rpm=850, red_line_rpm=6200)
        for kind, rpm in (("idle", 850), ("red-line", 6200)):
            (x, _), (foot, bottom) = corners(one(chart.rules, kind).d)
            assert x == foot == pytest.approx(chart.plot.across.at(rpm), abs=0.01)
            assert bottom == pytest.approx(chart.plot.bottom, abs=0.01)
        assert [text.text for text in chart.texts] == ["idle 850", "red line 6200"]


findings = st.lists(
    st.tuples(st.sampled_from(["stop", "caution", "note"]), st.integers(0, 60), st.integers(0, 20)),
    min_size=1,
    max_size=7,
).map(
    lambda rows: [
        FindingMark(chr(65 + index), kind, low * 100.0, (low + reach) * 100.0, f"sentence {index}")
        for index, (kind, low, reach) in enumerate(rows)
    ]
)


class TestFindings:
    @given(marks=findings, width=st.sampled_from([360, 720]))
    @settings(max_examples=80, deadline=None)
    def test_marks_stay_on_the_plot_and_do_not_cover_one_another(self, marks, width):
        chart = speed_chart(uid="c", delivered=UNIT, findings=marks, width=width)
        assert len(chart.findings) == len(marks)
        plot = chart.plot
        for mark in chart.findings:
            assert plot.left <= mark.x - MARK
            assert mark.x + MARK <= plot.right
            assert plot.top <= mark.y - MARK
            assert mark.y + MARK <= plot.bottom
        if width == 720:
            for mark, other in combinations(chart.findings, 2):
                assert math.dist((mark.x, mark.y), (other.x, other.y)) >= 2 * MARK

    def test_a_mark_does_not_cover_the_curve_and_its_leader_ends_on_it(self):
        chart = speed_chart(uid="c", delivered=UNIT, findings=[FindingMark("A", "caution", 1000, 1500, "steep")])
        [mark] = chart.findings
        line = corners(one(chart.layers, "unit").d)
        assert distance_to_line((mark.x, mark.y), line) > MARK
        foot = corners(mark.leader)[-1]
        assert foot == pytest.approx(chart.plot.at(1250, 6), abs=0.01)  # half way from 2 at 1000 to 10 at 1500 rpm
        assert mark.sentence == "steep"
        assert "A, caution: steep" in chart.description

    def test_the_stretch_a_finding_speaks_of_follows_the_curve(self):
        chart = speed_chart(uid="c", delivered=UNIT, findings=[FindingMark("A", "stop", 1250, 3000, "x")])
        stretch = figures(one(chart.under, "reach-A"), chart.plot)
        assert [p[0] for p in stretch] == pytest.approx([1250, 1500, 2500, 3000], abs=RPM)
        assert [p[1] for p in stretch] == pytest.approx([6, 10, 17, 19.5], abs=DEG * 10)

    def test_a_finding_beyond_the_paper_is_shown_at_its_edge(self):
        chart = speed_chart(uid="c", delivered=UNIT, findings=[FindingMark("A", "note", 20_000, 30_000, "x")])
        assert chart.findings[0].x <= chart.plot.right


class TestRefusals:
    @pytest.mark.parametrize(
        ("layer", "name"),
        [
            ("delivered", "the curve delivered"),
            ("target", "the target curve"),
            ("nodes", "the nodes"),
            ("as_found", "the as-found sweep"),
            ("readings", "the readings"),
            ("road_notes", "the road notes"),
        ],
    )
    def test_figures_that_are_none_are_refused_by_their_layer(self, layer, name):
        with pytest.raises(TimingError, match=f"^{name} must be a finite number"):
            speed_chart(uid="c", **{layer: [(1000, math.nan)]})
        with pytest.raises(ChartError, match=f"^{name} must be pairs of figures$"):
            speed_chart(uid="c", **{layer: [(1000, 2, 3)]})

    @pytest.mark.parametrize(("layer", "name"), [("rising", "the rising sweep"), ("falling", "the falling sweep")])
    def test_a_sweep_s_figures_that_are_none_are_refused_by_their_layer(self, layer, name):
        with pytest.raises(TimingError, match=f"^{name} must be a finite number"):
            sweep_chart(uid="c", **{layer: [(1000, math.nan)]})

    @pytest.mark.parametrize("draw", [speed_chart, sweep_chart])
    def test_a_band_that_is_none_is_refused_by_its_layer(self, draw):
        with pytest.raises(ChartError, match=r"^the factory band has its lowest 5 above its highest 2 at 1000$"):
            draw(uid="c", band=[(1000, 5, 2)])

    @pytest.mark.parametrize(
        ("layers", "message"),
        [
            (
                {"delivered": [(1000, 2), (1000, 4)]},
                "the curve delivered must rise along the axis, but 1000 follows 1000",
            ),
            ({"target": [(1000, 2), (900, 4)]}, "the target curve must rise along the axis, but 900 follows 1000"),
            ({"nodes": [(1000, 2), (900, 4)]}, "the nodes must rise along the axis, but 900 follows 1000"),
            ({"earlier": [("2", [(2000, 1), (900, 2)])]}, "version 2 must rise along the axis, but 900 follows 2000"),
        ],
    )
    def test_a_curve_that_does_not_rise_is_refused_by_its_layer(self, layers, message):
        with pytest.raises(ChartError, match=f"^{message}$"):
            speed_chart(uid="c", **layers)

    def test_240_is_wide_enough(self):
        assert speed_chart(uid="c", delivered=UNIT, width=240).narrow


def test_a_phone_s_drawing_has_fewer_figures_of_the_same_size():
    wide, narrow = (speed_chart(uid="c", delivered=[(0, 0), (6400, 20)], width=width) for width in (720, 360))
    count = [sum(text.anchor == "middle" for text in chart.panels[0].texts) for chart in (wide, narrow)]
    assert count[0] > count[1] >= 3
    assert {text.size for chart in (wide, narrow) for text in chart.panels[0].texts} == {13.0}
    assert not wide.narrow
