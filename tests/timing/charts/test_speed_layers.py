"""What lies on the paper of a speed chart: its axes, its layers with their pens, its key and its words."""

import re
from dataclasses import fields

import pytest

from tests.timing.charts.drawn import corners, figures, one
from timing.charts import FindingMark, speed_chart, styles, sweep_chart
from timing.charts.errors import ChartError
from timing.charts.marks import SAMPLE, diagonal_crosses, diamonds, upright_crosses
from timing.charts.palette import PRINT, Palette
from timing.charts.speed_figures import Given, mean_line, rules_at
from timing.charts.text import DELIVERED, TARGET, opening

# The worked case A1 of the project's handbook, section 4.
WANTED = [(500, 0), (1000, 2), (1400, 9), (2200, 15), (3500, 22)]
UNIT = [(500, 0), (1000, 2), (1500, 10), (2500, 17), (3500, 22)]
BAND = [(800, 0, 1), (1200, 2, 6), (1800, 10, 14)]

# Every colour bears the name of its token.
NAMED = Palette(**{field.name: field.name for field in fields(Palette)})
RPM = 0.2  # what writing out to a hundredth of a unit of the drawing costs


def everything(**look):
    return speed_chart(
        **{
            "uid": "c",
            "delivered": UNIT,
            "target": WANTED,
            "earlier": [("version 1", [(500, 1), (3000, 20)]), ("none yet", []), ("version 3", [(600, 0), (2500, 18)])],
            "band": BAND,
            "as_found": [(900, 1), (1500, 9), (1500, 10)],
            "readings": [(2500, 16), (900, 1.5)],
            "road_notes": [(2600, 17)],
            "findings": [FindingMark("A", "caution", 1000, 1500, "too steep."), FindingMark("B", "note", 2000, 2000)],
            "idle_rpm": 850,
            "rev_limit_rpm": 6000,
            "red_line_rpm": 6200,
            "palette": NAMED,
        }
        | look
    )


def whole_sweep(**look):
    rising, falling = [(1000, 3), (2000, 9), (2000, 10)], [(1800, 10), (900, 4)]
    return sweep_chart(**{"uid": "s", "rising": rising, "falling": falling, "band": BAND, "palette": NAMED} | look)


class TestAxes:
    @pytest.mark.parametrize(
        ("speeds", "expected"),
        [
            ((500, 5900), (0, 6000)),  # from standstill to the next 500
            ((500, 5901), (0, 6500)),  # the last figure has a hundred to its right
            ((500, 6000), (0, 6500)),
            ((1500, 3200), (0, 3500)),
            ((1501, 3200), (1500, 3500)),  # all well above idle
            ((2700, 3200), (2500, 3500)),
        ],
    )
    def test_speeds_run_to_round_figures(self, speeds, expected):
        across = speed_chart(uid="c", delivered=[(rpm, 5) for rpm in speeds]).plot.across
        assert (across.low, across.high) == expected

    @pytest.mark.parametrize(
        ("degrees", "expected"),
        [
            ((0, 22), (0, 25)),
            ((0, 23), (0, 25)),  # two degrees of room above the highest
            ((0, 23.1), (0, 30)),
            ((4, 22), (0, 25)),  # nought is always on the paper
            ((-3, 22), (-5, 25)),
            ((0, 1), (0, 15)),  # no flat curve on a tall scale
            ((-9, -1), (-10, 5)),
        ],
    )
    def test_degrees_run_to_round_figures_and_hold_nought(self, degrees, expected):
        up = speed_chart(uid="c", delivered=list(zip((500, 3000), degrees, strict=True))).plot.up
        assert (up.low, up.high) == expected

    def test_limits_may_be_given(self):
        plot = speed_chart(uid="c", delivered=UNIT, rpm_limits=(250, 4250), degrees_limits=(-2, 28)).plot
        assert (plot.across.low, plot.across.high, plot.up.low, plot.up.high) == (250, 4250, -2, 28)

    @pytest.mark.parametrize("layer", ["delivered", "target", "as_found", "readings", "road_notes", "nodes"])
    def test_every_layer_of_points_is_on_the_paper(self, layer):
        plot = speed_chart(uid="c", **{layer: [(7200, 41)]}).plot
        assert (plot.across.high, plot.up.high) == (7500, 45)

    def test_earlier_versions_the_band_and_falling_readings_are_on_the_paper(self):
        for chart in (
            speed_chart(uid="c", earlier=[("version 1", [(7200, 41)])]),
            speed_chart(uid="c", band=[(7000, 41, 41), (7200, 0, 0)]),
            speed_chart(uid="c", band=[(7000, 0, 41), (7200, 0, 0)]),
            sweep_chart(uid="c", falling=[(7200, 41)]),
        ):
            assert (chart.plot.across.high, chart.plot.up.high) == (7500, 45)
        assert speed_chart(uid="c", band=[(1000, -9, 2)]).plot.up.low == -10

    @pytest.mark.parametrize("rule", ["idle_rpm", "rev_limit_rpm", "red_line_rpm"])
    def test_a_speed_worth_a_rule_is_on_the_paper(self, rule):
        assert speed_chart(uid="c", delivered=UNIT, **{rule: 7200}).plot.across.high == 7500

    def test_the_axes_say_what_they_count(self):
        def names(chart):
            return {text.text for text in chart.panels[0].texts if text.css == "chart-name"}

        assert names(speed_chart(uid="c", delivered=UNIT)) == {"crank rpm", "degrees of crank"}
        assert names(sweep_chart(uid="c", rising=UNIT)) == {"crank rpm", "degrees of crank"}
        assert "from base" in names(speed_chart(uid="c", delivered=UNIT, degrees_name="from base"))
        assert "from base" in names(sweep_chart(uid="c", rising=UNIT, degrees_name="from base"))

    @pytest.mark.parametrize("draw", [speed_chart, sweep_chart])
    def test_nothing_at_all_is_refused(self, draw):
        with pytest.raises(ChartError, match=r"^there is nothing to draw: no curve, no band and no reading$"):
            draw(uid="c", idle_rpm=800)

    def test_a_speed_below_nought_is_refused(self):
        with pytest.raises(ChartError, match=r"^engine speed cannot be -100 rpm$"):
            speed_chart(uid="c", readings=[(-100, 2), (500, 1)])
        assert speed_chart(uid="c", readings=[(0, 2)]).plot.across.low == 0


class TestLayers:
    def test_they_lie_in_order_with_their_pens(self):
        chart = everything()
        assert [(layer.name, layer.style) for layer in chart.layers] == [
            ("band-edge", styles.edge(styles.band(NAMED))),
            ("earlier", styles.earlier(NAMED, 0)),
            ("earlier", styles.earlier(NAMED, 2)),  # the version without a curve keeps its dash
            ("unit", styles.delivered(NAMED)),
            ("wanted", styles.target(NAMED)),
            ("as-found-line", styles.as_found_line(NAMED)),
            ("as-found", styles.as_found(NAMED)),
            ("readings", styles.reading(NAMED)),
            ("road-notes", styles.road_note(NAMED)),
            ("deviation", styles.deviation(NAMED)),
        ]
        assert [(layer.name, layer.style) for layer in chart.under] == [
            ("band", styles.area(styles.band(NAMED))),
            ("reach-A", styles.reach(NAMED, "caution")),
        ]
        assert [(layer.name, layer.style) for layer in chart.rules] == [
            (kind, styles.rule(NAMED, kind)) for kind in ("idle", "limit", "red-line")
        ]

    def test_curves_follow_their_figures_and_are_held_to_both_edges_of_the_paper(self):
        chart = everything()
        lines = [figures(layer, chart.plot) for layer in chart.layers if layer.name in ("earlier", "unit", "wanted")]
        curves = [[(500, 1), (3000, 20)], [(600, 0), (2500, 18)], UNIT, WANTED]
        for line, curve in zip(lines, curves, strict=True):
            expected = [(0, curve[0][1]), *curve, (chart.plot.across.high, curve[-1][1])]
            assert line == [pytest.approx(point, abs=RPM) for point in expected]

    def test_a_sweep_lies_in_order_with_its_pens(self):
        chart = whole_sweep(idle_rpm=850, red_line_rpm=6200, findings=[FindingMark("A", "stop", 1000, 1500, "late")])
        assert [(layer.name, layer.style) for layer in chart.layers] == [
            ("band-edge", styles.edge(styles.band(NAMED))),
            ("mid-line", styles.target(NAMED)),
            ("as-found-line", styles.as_found_line(NAMED)),
            ("as-found", styles.as_found(NAMED)),
            ("falling-line", styles.falling_line(NAMED)),
            ("falling", styles.falling(NAMED)),
        ]
        assert [layer.name for layer in chart.under] == ["band", "reach-A"]
        assert [layer.style for layer in chart.rules] == [styles.rule(NAMED, "idle"), styles.rule(NAMED, "red-line")]
        assert chart.findings[0].colour == "stop"

    @pytest.mark.parametrize("layer", ["delivered", "target"])
    def test_a_layer_without_figures_is_not_there(self, layer):
        chart = speed_chart(uid="c", **{layer: UNIT})
        assert [one.name for one in chart.layers] == [{"delivered": "unit", "target": "wanted"}[layer]]
        assert (chart.under, chart.rules, chart.findings, chart.texts) == ((), (), (), ())
        only = sweep_chart(uid="c", falling=UNIT)
        assert [one.name for one in only.layers] == ["falling-line", "falling"]

    def test_readings_are_signs_of_their_own_kind_on_their_figures(self):
        chart = everything()
        signs = {
            "as-found": diagonal_crosses([chart.plot.at(900, 1), chart.plot.at(1500, 9), chart.plot.at(1500, 10)]),
            "readings": upright_crosses([chart.plot.at(2500, 16), chart.plot.at(900, 1.5)]),
            "road-notes": diamonds([chart.plot.at(2600, 17)]),
        }
        assert {name: one(chart.layers, name).d for name in signs} == signs

    def test_falling_readings_are_smaller_crosses_than_the_strobe_s(self):
        [falling] = [layer.d for layer in sweep_chart(uid="c", falling=[(1000, 4)]).layers if layer.name == "falling"]
        [strobe] = [layer.d for layer in speed_chart(uid="c", readings=[(1000, 4)]).layers]
        lengths = []
        for d in (falling, strobe):
            start, end = map(float, re.match(r"M([\d.]+) [\d.]+H([\d.]+)", d).groups())
            lengths.append(end - start)
        assert 8 < lengths[0] < lengths[1] - 1

    def test_lines_through_readings_join_the_means_at_each_speed(self):
        chart = whole_sweep()
        for name, expected in (("as-found-line", [(1000, 3), (2000, 9.5)]), ("falling-line", [(900, 4), (1800, 10)])):
            line = figures(one(chart.layers, name), chart.plot)
            assert line == [pytest.approx(point, abs=RPM) for point in expected]
        assert mean_line([(2000, 1), (1000, 5), (2000, 4)]) == ((1000, 5), (2000, 2.5))

    def test_the_band_goes_round_once_and_its_edges_are_two_lines_to_both_edges_of_the_paper(self):
        chart = whole_sweep()
        area, edge = one(chart.under, "band"), one(chart.layers, "band-edge")
        lines = [corners("M" + part) for part in edge.d.split("M")[1:]]
        assert corners(area.d) == lines[0] + lines[1][::-1]
        assert area.d.endswith("Z")
        for line, column in zip(lines, (1, 2), strict=True):
            expected = [(chart.plot.across.low, BAND[0][column]), *((row[0], row[column]) for row in BAND)]
            expected.append((chart.plot.across.high, BAND[-1][column]))
            assert line == [pytest.approx(chart.plot.at(*point), abs=0.006) for point in expected]

    def test_the_middle_of_the_band_runs_to_both_edges_of_the_paper(self):
        chart = whole_sweep()
        line = figures(one(chart.layers, "mid-line"), chart.plot)
        expected = [(0, 0.5), (800, 0.5), (1200, 4), (1800, 12), (2500, 12)]
        assert line == [pytest.approx(point, abs=RPM) for point in expected]
        assert not [layer for layer in sweep_chart(uid="c", rising=UNIT).layers if layer.name == "mid-line"]


class TestFindingsOnTheCurve:
    def reach(self, low, high, **layers):
        chart = speed_chart(
            uid="c", findings=[FindingMark("A", "note", low, high, "x")], **({"delivered": UNIT} | layers)
        )
        return [figures(layer, chart.plot) for layer in chart.under if layer.name == "reach-A"]

    def test_a_reach_follows_the_curve_corner_by_corner(self):
        [stretch] = self.reach(1250, 3000)
        expected = [(1250, 6), (1500, 10), (2500, 17), (3000, 19.5)]
        assert stretch == [pytest.approx(point, abs=RPM) for point in expected]
        [stretch] = self.reach(1000, 2500)  # corners at its own ends are not repeated
        assert stretch == [pytest.approx(point, abs=RPM) for point in UNIT[1:4]]

    def test_a_single_speed_does_not_keep_the_next_finding_from_its_reach(self):
        findings = [FindingMark("A", "note", 2000, 2000), FindingMark("B", "note", 1000, 1500)]
        assert [layer.name for layer in speed_chart(uid="c", delivered=UNIT, findings=findings).under] == ["reach-B"]

    def test_a_reach_ends_at_the_edges_of_the_paper(self):
        [stretch] = self.reach(-500, 20_000)
        assert (stretch[0][0], stretch[-1][0]) == pytest.approx((0, 4000), abs=RPM)

    @pytest.mark.parametrize(("low", "high"), [(2000, 2000), (9000, 9500), (-900, -100)])
    def test_a_single_speed_or_a_stretch_beyond_the_paper_has_no_reach(self, low, high):
        assert self.reach(low, high) == []

    @pytest.mark.parametrize(
        ("layers", "height"),
        [
            ({"delivered": [(500, 4)], "target": [(500, 5)], "earlier": [("x", [(500, 6)])]}, 4),
            ({"target": [(500, 5)], "earlier": [("x", [(500, 6)])], "as_found": [(500, 7)]}, 5),
            ({"earlier": [("none", []), ("x", [(500, 6)])], "as_found": [(500, 7)]}, 6),
            ({"as_found": [(500, 7), (500, 8)], "band": [(500, 1, 4)]}, 7.5),
            ({"band": [(500, 1, 4)]}, 2.5),
            ({"readings": [(500, 9)]}, 0),  # no curve at all: along nought
        ],
    )
    def test_a_finding_points_at_the_first_curve_there_is(self, layers, height):
        chart = speed_chart(uid="c", findings=[FindingMark("A", "note", 400, 600, "x")], **layers)
        assert corners(chart.findings[0].leader)[-1][1] == pytest.approx(chart.plot.up.at(height), abs=0.01)
        [reach] = [figures(layer, chart.plot) for layer in chart.under if layer.name == "reach-A"]
        assert {round(up, 1) for _, up in reach} == {height}

    def test_in_a_sweep_it_points_at_the_falling_readings_where_there_are_no_others(self):
        chart = sweep_chart(uid="c", falling=[(500, 7)], findings=[FindingMark("A", "note", 400, 600, "x")])
        assert corners(chart.findings[0].leader)[-1][1] == pytest.approx(chart.plot.up.at(7), abs=0.01)


class TestKey:
    def samples(self, chart):
        """Words, pen and kind of sample of every entry."""
        kinds = {"H": "upright", "Z": "closed"}
        found = []
        for entry in chart.key:
            d = entry.layer.d
            kind = next(
                (kind for letter, kind in kinds.items() if letter in d), "diagonal" if d.count("M") > 1 else "line"
            )
            if kind == "closed":
                kind = "band" if max(x for x, _ in corners(d)) - min(x for x, _ in corners(d)) == SAMPLE else "diamond"
            found.append((entry.text.text, entry.layer.style, kind))
        return found

    def test_everything_drawn_is_in_it_once_with_its_pen(self):
        assert self.samples(everything()) == [
            (DELIVERED, styles.delivered(NAMED), "line"),
            (TARGET, styles.target(NAMED), "line"),
            ("version 1", styles.earlier(NAMED, 0), "line"),
            ("version 3", styles.earlier(NAMED, 2), "line"),
            ("factory band", styles.band(NAMED), "band"),
            ("as found", styles.as_found(NAMED), "diagonal"),
            ("strobe", styles.reading(NAMED), "upright"),
            ("road notes", styles.road_note(NAMED), "diamond"),
        ]

    def test_a_sweep_tells_rising_from_falling_and_names_the_middle_of_the_band(self):
        assert self.samples(whole_sweep()) == [
            ("factory band", styles.band(NAMED), "band"),
            ("its middle", styles.target(NAMED), "line"),
            ("as found, rising", styles.as_found(NAMED), "diagonal"),
            ("as found, falling", styles.falling(NAMED), "upright"),
        ]

    def test_the_unit_s_curve_bears_the_name_it_is_given(self):
        assert self.samples(everything(delivered_name="as released"))[0][0] == "as released"

    @pytest.mark.parametrize("layer", ["delivered", "target"])
    def test_beside_a_curve_the_middle_of_the_band_is_not_drawn_and_not_named(self, layer):
        chart = speed_chart(uid="c", band=BAND, **{layer: UNIT})
        assert "its middle" not in [entry.text.text for entry in chart.key]
        chart = speed_chart(uid="c", band=BAND, earlier=[("version 1", UNIT)])
        assert "its middle" not in [entry.text.text for entry in chart.key]

    def test_its_lettering_is_in_ink(self):
        assert {entry.text.fill for entry in [*everything().key, *whole_sweep().key]} == {"ink"}


class TestWords:
    def test_they_tell_every_figure_of_every_layer(self):
        assert everything().description == (
            f"{opening(DELIVERED)}: 0° at 500, 2° at 1000, 10° at 1500, 17° at 2500, 22° at 3500 rpm. "
            f"{opening(TARGET)}: 0° at 500, 2° at 1000, 9° at 1400, 15° at 2200, 22° at 3500 rpm. "
            "Version 1: 1° at 500, 20° at 3000 rpm. "
            "Version 3: 0° at 600, 18° at 2500 rpm. "
            "Largest deviation 0.6° at 1400 rpm. "
            "Factory band: 0° to 1° at 800, 2° to 6° at 1200, 10° to 14° at 1800 rpm. "
            "As found: 1° at 900, 9.5° at 1500 rpm. "
            "Strobe: 1.5° at 900, 16° at 2500 rpm. "
            "Road notes: 17° at 2600 rpm. "
            "Idle 850, rev limit 6000, red line 6200 rpm. "
            "A, caution: too steep."
        )

    def test_a_sweep_tells_rising_from_falling(self):
        assert whole_sweep(band=[], red_line_rpm=6200).description == (
            "As found: 3° at 1000, 9.5° at 2000 rpm. As found, falling: 4° at 900, 10° at 1800 rpm. Red line 6200 rpm."
        )

    def test_a_version_keeps_the_rest_of_its_name_as_it_was_written(self):
        chart = speed_chart(uid="c", earlier=[("for the KLM saloon", [(500, 1)])])
        assert chart.description == "For the KLM saloon: 1° at 500 rpm."


class TestRules:
    def test_each_bears_its_kind_and_its_speed_in_whole_rpm(self):
        rules = [(rule.kind, rule.across, rule.label) for rule in rules_at(849.6, 6000, 6200)]
        assert rules == [
            ("idle", 849.6, "idle 850"),
            ("limit", 6000.0, "rev limit 6000"),
            ("red-line", 6200.0, "red line 6200"),
        ]
        assert rules_at(None, None, None) == ()

    def test_the_name_of_the_upward_axis_is_lifted_above_their_rows(self):
        for chart in (everything(), whole_sweep(idle_rpm=1000, red_line_rpm=1050)):
            [name] = [text for text in chart.panels[0].texts if text.text == "degrees of crank"]
            rules = [text for text in chart.texts if text.css.startswith("chart-rule-name")]
            assert len({text.y for text in rules}) == 2
            assert name.y < min(text.y for text in rules)
            assert name.y > 13  # and stays on the drawing


def test_every_part_is_drawn_with_the_palette_of_the_chart():
    for chart in (everything(), whole_sweep()):
        assert chart.palette == NAMED
        pens_used = [layer.style for layer in (*chart.under, *chart.rules, *chart.layers, *chart.panels[0].grid)]
        inks = {ink for pen in pens_used for ink in (pen.stroke, pen.fill)} | {text.fill for text in chart.texts}
        assert inks <= {field.name for field in fields(Palette)} | {"none"}
        assert speed_chart(uid="c", delivered=UNIT).palette == sweep_chart(uid="c", rising=UNIT).palette == PRINT


def test_nothing_given_is_no_point_and_no_curve():
    assert Given().points() == []
    assert not Given().curves()


def test_the_words_of_the_lines_across_begin_large_and_are_left_as_they_are_otherwise():
    chart = speed_chart(
        uid="c", delivered=UNIT, idle_rpm=800, red_line_rpm=5500, delivered_name="held by the V8's unit"
    )
    assert "Idle 800, red line 5500 rpm." in chart.description
    assert "Held by the V8's unit" in chart.description
