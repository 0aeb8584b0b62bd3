"""What the chart of the dwell budget says: its rules, names, key and description."""

import pytest

from tests.timing.charts.budgets import budget_chart, drawn, layers, supply
from tests.timing.charts.drawn import corners
from tests.timing.charts.inked import lettering, misprinted, said, touches
from timing.charts import PRINT, dwell_chart, styles
from timing.charts.layout import BELOW
from timing.charts.marks import KEY_ROW
from timing.charts.page import ASIDE, CENTRED, GAP, LETTER, MARGIN, width_of


class TestRules:
    def test_rules_run_through_both_plots(self):
        chart = budget_chart(8, 1.8, red_line_rpm=5400)
        upper, lower = (panel.plot for panel in chart.panels)
        [above, below] = [layer for layer in chart.rules if layer.name == "red-line"]
        assert corners(above.d)[1][1] == pytest.approx(upper.bottom, abs=0.01)
        assert [y for _, y in corners(below.d)] == pytest.approx([lower.top, lower.bottom], abs=0.01)
        assert {round(lower.across.value(x)) for x, _ in corners(above.d) + corners(below.d)} == {5400}
        assert above.style == below.style == styles.rule(PRINT, "red-line")

    def test_every_speed_worth_a_rule_says_what_it_is(self):
        chart = drawn(limit_rpm=4444.4, rev_limit_rpm=6000, red_line_rpm=6200)
        for words, kind in (
            ("dwell fits up to 4444", "fits"),
            ("rev limit 6000", "limit"),
            ("red line 6200", "red-line"),
        ):
            assert said(chart, words).css.split()[-1] == f"chart-rule-name-{kind}"
        assert {layer.name for layer in chart.rules} == {"fits", "limit", "red-line"}
        assert misprinted(chart) == []

    def test_their_names_lie_between_the_plot_and_the_name_of_its_axis(self):
        chart = drawn(limit_rpm=4444.4, rev_limit_rpm=6000, red_line_rpm=6200)
        names = [said(chart, words) for words in ("dwell fits up to 4444", "rev limit 6000", "red line 6200")]
        axis = said(chart, "dwell, ms")
        assert max(text.y for text in names) < chart.panels[0].plot.top
        assert min(text.y for text in names) > axis.y + LETTER
        assert not any(touches(one, other) for one in names for other in (*names, axis) if one is not other)

    def test_a_chart_without_rules_wastes_no_room_over_its_plot(self):
        assert drawn().panels[0].plot.top < drawn(rev_limit_rpm=6000).panels[0].plot.top
        assert drawn().rules == ()


class TestNamesAndKey:
    def test_names_stand_beside_the_ends_of_their_lines_the_middle_one_in_ink(self):
        chart = budget_chart(8, 1.8)
        lower = chart.panels[1].plot
        names = [said(chart, words) for words in ("cranking 9 V", "running 12.8 V", "charging 14.2 V")]
        assert [text.css for text in names] == ["chart-figure", "chart-name", "chart-figure"]
        assert all(text.x == pytest.approx(lower.right + ASIDE) for text in names)
        assert [text.y for text in names] == sorted((text.y for text in names), reverse=True)  # as their energies
        line = layers(chart, "energy")[0]
        assert names[0].y == pytest.approx(corners(line.d)[-1][1] + CENTRED, abs=0.02)
        assert lower.right == pytest.approx(chart.width - width_of("charging 14.2 V") - ASIDE - GAP)

    def test_beyond_three_voltages_ink_and_pencil_go_round_again(self):
        many = [supply(f"at {volts}", volts, energy=(30, volts)) for volts in (9, 11, 13, 15, 17)]
        chart = drawn(*many)
        css = [said(chart, f"at {volts} {volts} V").css for volts in (9, 11, 13, 15, 17)]
        assert css == ["chart-figure", "chart-name", "chart-figure", "chart-figure", "chart-name"]

    def test_on_a_phone_they_stand_in_the_key_instead_and_the_plot_takes_their_room(self):
        wide, narrow = budget_chart(8, 1.8, width=480), budget_chart(8, 1.8, width=479)
        assert "running 12.8 V" in {text.text for text in wide.texts}
        assert "running 12.8 V" not in {entry.text.text for entry in wide.key}
        assert "running 12.8 V" not in {text.text for text in narrow.texts}
        assert [(entry.text.text, entry.layer.style) for entry in narrow.key] == [
            ("dwell asked for", styles.target(PRINT)),
            ("dwell that fits", styles.supply(PRINT, 1)),
            ("cranking 9 V", styles.supply(PRINT, 0)),
            ("running 12.8 V", styles.supply(PRINT, 1)),
            ("charging 14.2 V", styles.supply(PRINT, 2)),
            ("does not fit", styles.short_of(PRINT)),
        ]
        assert narrow.width - narrow.panels[1].plot.right == MARGIN

    def test_the_key_names_one_line_for_all_voltages_only_where_there_is_one(self):
        same = {entry.text.text: entry.layer for entry in budget_chart(8, 3.5).key}
        assert list(same) == ["dwell asked for", "dwell that fits", "does not fit"]
        assert same["dwell asked for"].style == styles.target(PRINT)
        assert same["dwell that fits"].style == styles.supply(PRINT, 1)
        assert same["does not fit"].style == styles.short_of(PRINT)
        assert len(corners(same["dwell that fits"].d)) == len(corners(same["dwell asked for"].d)) == 2  # lines
        assert len(corners(same["does not fit"].d)) == 4  # an area
        assert "dwell that fits" in {entry.text.text for entry in drawn(supply(), supply("charging", 14.2)).key}
        for chart in (budget_chart(8, [5.5, 3.5, 3.0]), drawn()):
            assert "dwell that fits" not in {entry.text.text for entry in chart.key}

    @pytest.mark.parametrize("width", [360, 480, 720])
    def test_the_key_stands_under_the_lower_plot_and_on_the_paper(self, width):
        chart = budget_chart(8, [5.5, 3.5, 3.0], width=width)
        lowest_figure = max(text.y for text in chart.panels[1].texts)
        assert all(lowest_figure < entry.text.y - LETTER * 0.7 for entry in chart.key)
        assert chart.key[0].text.x > chart.panels[1].plot.left
        foot = max(entry.text.y for entry in chart.key) - CENTRED + KEY_ROW / 2
        assert chart.height == pytest.approx(foot + BELOW, abs=0.01)
        assert misprinted(chart) == []

    def test_no_name_covers_another(self):
        chart = budget_chart(8, 1.8, red_line_rpm=5400, rev_limit_rpm=6000)
        names = [text for text in lettering(chart) if any(letter.isalpha() for letter in text.text)]
        assert not [(a.text, b.text) for i, a in enumerate(names) for b in names[:i] if touches(a, b)]


class TestWords:
    def test_the_drawing_says_what_is_asked_for_and_what_is_left(self):
        supplies = [
            supply("cranking", 9, asked=5.256, on=(5.256, 5, 4.174), energy=(18.26, 18, 12)),
            supply(on=(3.5, 3.4, 2.0), energy=(36, 36, 20)),
        ]
        marked = {"limit_rpm": 4444.4, "rev_limit_rpm": 6000, "red_line_rpm": 6200}
        chart = dwell_chart([1000, 2500, 5800], supplies, uid="d", **marked)
        assert chart.description == (
            "The whole dwell fits up to 4444 rpm. "
            "Cranking 9 V: 5.26 ms asked for, 4.17 ms at 5800 rpm; 18.3 mJ at 1000 rpm, 12 mJ at 5800 rpm. "
            "Running 12.8 V: 3.5 ms asked for, 2 ms at 5800 rpm; 36 mJ at 1000 rpm, 20 mJ at 5800 rpm. "
            "Rev limit 6000, red line 6200 rpm."
        )

    def test_what_is_not_known_is_not_said(self):
        assert drawn().description.startswith("Running")
        assert drawn().description.endswith("20 mJ at 5800 rpm.")

    def test_it_bears_its_kind_its_name_and_its_title(self):
        chart = drawn(title="Dwell of this map")
        assert (chart.kind, chart.uid, chart.title) == ("dwell", "d", "Dwell of this map")
        assert drawn().title == "Dwell and spark energy over engine speed"
        assert (chart.nodes, chart.findings) == ((), ())

    def test_speeds_may_lie_as_close_as_they_like(self):
        assert "2 ms at 1000 rpm" in dwell_chart([999.8, 1000.2], [supply()], uid="d").description
