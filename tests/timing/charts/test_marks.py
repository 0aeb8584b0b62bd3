"""What is set down on the paper: crosses, rules with their names, names beside the plot, the key."""

import math
import re
from dataclasses import fields
from itertools import pairwise

import pytest

from tests.timing.charts.drawn import NUMBER, corners
from tests.timing.charts.look import colours
from timing.charts import ChartError, FindingMark, styles
from timing.charts.findings import MARK, outline
from timing.charts.marks import (
    BESIDE,
    KEY_GAP,
    KEY_ROW,
    RULE_HEAD,
    SAMPLE,
    Rule,
    degrees,
    diagonal_crosses,
    diamonds,
    names_beside,
    place_key,
    place_rules,
    rows_of_rules,
    upright_crosses,
)
from timing.charts.page import ASIDE, CAPITAL, CENTRED, GAP, INSET, LETTER, ROW, Plot, width_of
from timing.charts.palette import PRINT, Palette
from timing.charts.scale import Scale
from timing.charts.text import DELIVERED
from timing.errors import TimingError

# Every colour bears the name of its token.
NAMED = Palette(**{field.name: field.name for field in fields(Palette)})


def plot(left=40.0, right=640.0, top=60.0, bottom=360.0) -> Plot:
    """6000 rpm across 600 units of the drawing, 30 degrees up 300."""
    return Plot(Scale(0, 6000, left, right), Scale(0, 30, bottom, top), "crank rpm", "degrees of crank")


def strokes(d: str) -> list[tuple[float, float, float, float]]:
    """The straight strokes of a path, each from where to where."""
    found = []
    for x, y, command, rest in re.findall(rf"M({NUMBER}) ({NUMBER})([HVL])({NUMBER}(?: {NUMBER})?)", d):
        ends = [float(end) for end in rest.split()]
        to = {"H": (ends[0], float(y)), "V": (float(x), ends[-1]), "L": (ends[0], ends[-1])}[command]
        found.append((float(x), float(y), *to))
    assert sum(d.count(letter) for letter in "MHVLZ") == len(re.findall("[A-Za-z]", d)) == 2 * len(found)
    return found


class TestCrosses:
    def test_a_diagonal_cross_has_two_strokes_through_its_place(self):
        assert strokes(diagonal_crosses([(100, 50)], 3)) == [(97, 47, 103, 53), (97, 53, 103, 47)]

    def test_an_upright_cross_has_two_strokes_through_its_place(self):
        assert strokes(upright_crosses([(100, 50)], 3)) == [(97, 50, 103, 50), (100, 47, 100, 53)]

    def test_a_diamond_is_closed_and_stands_on_its_tip(self):
        assert corners(diamonds([(100, 50)], 3)) == [(100, 47), (103, 50), (100, 53), (97, 50)]
        assert diamonds([(100, 50)], 3).endswith("Z")

    @pytest.mark.parametrize("draw", [diagonal_crosses, upright_crosses, diamonds])
    def test_every_place_has_a_sign_of_its_own(self, draw):
        assert draw([(10, 20), (30, 5)]) == draw([(10, 20)]) + draw([(30, 5)])
        assert draw([]) == ""

    def test_crosses_lying_and_upright_look_equally_large_and_a_diamond_no_larger(self):
        lying = strokes(diagonal_crosses([(0, 0)]))[0]
        upright = strokes(upright_crosses([(0, 0)]))[0]
        assert math.dist(lying[:2], lying[2:]) == pytest.approx(math.dist(upright[:2], upright[2:]), rel=0.1)
        tips = corners(diamonds([(0, 0)]))
        assert math.dist(tips[0], tips[2]) < math.dist(lying[:2], lying[2:])


class TestOutlines:
    def test_a_stop_is_a_regular_octagon_with_a_level_edge_at_the_top(self):
        octagon = corners(outline("stop", 100, 50, 10))
        assert len(octagon) == 8
        sides = [math.dist(a, b) for a, b in pairwise([*octagon, octagon[0]])]
        assert sides == [pytest.approx(sides[0], abs=0.02)] * 8
        assert sides[0] == pytest.approx(20 / (1 + math.sqrt(2)), abs=0.02)  # width over side of a regular octagon
        assert min(y for _, y in octagon) == 40
        assert max(y for _, y in octagon) == 60
        assert (min(x for x, _ in octagon), max(x for x, _ in octagon)) == (90, 110)
        assert outline("stop", 100, 50, 10).endswith("Z")

    def test_a_caution_is_an_upright_triangle_of_equal_sides(self):
        tip, right, left = corners(outline("caution", 100, 50, 10))
        assert tip[0] == 100
        assert tip[1] < 50 < left[1]
        assert left[1] == right[1] == 60
        sides = [math.dist(tip, right), math.dist(right, left), math.dist(left, tip)]
        assert sides == [pytest.approx(sides[0], rel=0.01)] * 3
        assert left[0] < 100 < right[0]
        assert outline("caution", 100, 50, 10).endswith("Z")

    def test_a_note_is_a_circle_of_two_half_turns(self):
        start, *halves = re.split(r"(?=a)", outline("note", 100, 50, 10))
        assert start == "M90 50"
        assert halves == ["a10 10 0 1 0 20 0", "a10 10 0 1 0 -20 0Z"]  # there and back

    @pytest.mark.parametrize("kind", ["stop", "caution", "note"])
    def test_a_mark_is_large_enough_for_its_letter(self, kind):
        assert 2 * MARK > 1.5 * LETTER
        assert outline(kind, 5, 6) == outline(kind, 5, 6, MARK)


class TestFindingsThatCannotBeMarked:
    @pytest.mark.parametrize(
        ("given", "message"),
        [
            (("A", "warning", 1000, 2000), "a finding is a stop, a caution or a note, not 'warning'"),
            (("ABC", "stop", 1000, 2000), "a mark has room for one or two letters, not 'ABC'"),
            (("", "stop", 1000, 2000), "a mark has room for one or two letters, not ''"),
            (("A", "stop", 2000, 1000), "finding A cannot speak of 2000 to 1000 rpm"),
            (("A", "stop", math.nan, 1000), "the stretch of finding A must be a finite number"),
            (("A", "stop", 1000, math.inf), "the stretch of finding A must be a finite number"),
        ],
    )
    def test_the_refusal_says_what_is_wrong(self, given, message):
        with pytest.raises(TimingError, match=f"^{re.escape(message)}$"):
            FindingMark(*given)

    def test_two_letters_and_a_single_speed_are_allowed(self):
        assert FindingMark("AB", "note", 1000, 1000).letter == "AB"


class TestRules:
    def test_a_rule_runs_from_beside_its_name_down_to_the_bottom(self):
        [layer], [name] = place_rules([Rule("idle", 3000, "idle 3000")], plot(), NAMED)
        y = 60 - RULE_HEAD
        assert corners(layer.d) == [(340, y - CAPITAL), (340, 360)]
        assert (layer.name, layer.style) == ("idle", styles.rule(NAMED, "idle"))
        assert (name.x, name.y, name.anchor, name.text) == (340 - GAP, y, "end", "idle 3000")

    @pytest.mark.parametrize("kind", ["idle", "limit", "red-line", "vacuum", "fits"])
    def test_a_name_has_the_colour_of_its_rule_on_paper_and_on_the_screen(self, kind):
        [layer], [name] = place_rules([Rule(kind, 3000, "x")], plot(), NAMED)
        assert name.fill == layer.style.stroke == colours()[name.css]["fill"]
        assert name.css == f"chart-rule-name-{kind}"

    def test_a_name_that_has_no_room_at_the_left_begins_where_lettering_may(self):
        words = "red line 6200"
        [_], [name] = place_rules([Rule("red-line", 100, words)], plot(), NAMED)
        assert name.x == pytest.approx(INSET + width_of(words), abs=0.006)

    @pytest.mark.parametrize(("across", "drawn"), [(0, 1), (6000, 1), (-1, 0), (6001, 0)])
    def test_a_rule_beside_the_plot_is_not_drawn(self, across, drawn):
        rules = [Rule("idle", across, "x")]
        layers, names = place_rules(rules, plot(), NAMED)
        assert len(layers) == len(names) == rows_of_rules(rules, plot()) == drawn

    def test_one_beside_the_plot_does_not_keep_the_next_from_it(self):
        layers, _ = place_rules([Rule("idle", -1, "x"), Rule("limit", 3000, "y")], plot(), NAMED)
        assert [layer.name for layer in layers] == ["limit"]

    def test_names_with_room_beside_one_another_share_a_row(self):
        rules = [Rule("red-line", 5000, "red line 5000"), Rule("idle", 800, "idle 800")]
        _, names = place_rules(rules, plot(), NAMED)
        assert [name.text for name in names] == ["idle 800", "red line 5000"]  # from the left
        assert {name.y for name in names} == {60 - RULE_HEAD}
        assert rows_of_rules(rules, plot()) == 1

    @pytest.mark.parametrize(("spare", "row"), [(0.1, 0), (-0.1, 1)])
    def test_a_name_rises_a_row_where_it_would_come_nearer_to_the_rule_before_than_a_gap(self, spare, row):
        words = "limit 3000"
        at = 1000 + 10 * (width_of(words) + 2 * GAP + spare)  # ten rpm a unit of the drawing
        rules = [Rule("idle", 1000, "idle"), Rule("limit", at, words)]
        _, (first, second) = place_rules(rules, plot(), NAMED)
        assert first.y == 60 - RULE_HEAD
        assert second.y == first.y - row * ROW
        assert rows_of_rules(rules, plot()) == row + 1

    def test_a_third_name_that_touches_both_rises_above_both(self):
        rules = [Rule("idle", 3000, "idle 3000"), Rule("limit", 3050, "limit 3050"), Rule("red-line", 3100, "red 3100")]
        layers, names = place_rules(rules, plot(), NAMED)
        assert [name.y for name in names] == [60 - RULE_HEAD - row * ROW for row in range(3)]
        assert [corners(layer.d)[0][1] for layer in layers] == [name.y - CAPITAL for name in names]
        assert rows_of_rules(rules, plot()) == 3

    def test_no_rule_needs_no_row(self):
        assert rows_of_rules([], plot()) == 0
        assert place_rules([], plot(), NAMED) == ((), ())

    def test_places_are_written_to_a_hundredth(self):
        _, [name] = place_rules([Rule("idle", 1234.567, "x")], plot(), NAMED)
        assert name.x == pytest.approx(40 + 123.4567 - GAP, abs=0.006)
        assert name.x == round(name.x, 2)


class TestNamesBeside:
    def beside(self, *heights):
        ends = [(y, f"at {y}", "chart-key", "ink") for y in heights]
        return names_beside(ends, plot())

    def test_a_name_is_level_with_the_end_of_its_line(self):
        [name] = names_beside([(200.123, "4000 rpm", "chart-key", "ink")], plot())
        assert name.y - CENTRED == pytest.approx(200.123, abs=0.006)
        assert name.y == round(name.y, 2)
        assert (name.x, name.anchor) == (640 + ASIDE, "start")
        assert (name.text, name.css, name.fill) == ("4000 rpm", "chart-key", "ink")

    def test_names_come_from_the_top_down_and_where_they_would_touch_the_lower_gives_way(self):
        names = self.beside(205, 200, 300)
        assert [name.text for name in names] == ["at 200", "at 205", "at 300"]
        assert [name.y - CENTRED for name in names] == pytest.approx([200, 200 + BESIDE, 300])

    def test_the_topmost_does_not_rise_above_the_plot(self):
        [name] = self.beside(10)
        assert name.y - CENTRED == pytest.approx(60 + LETTER / 2)

    def test_what_would_lie_under_the_plot_is_pushed_up_again_and_the_rest_stays(self):
        names = self.beside(200, 355, 358, 360)
        expected = [200, 360 - 2 * BESIDE, 360 - BESIDE, 360]
        assert [name.y - CENTRED for name in names] == pytest.approx(expected)

    def test_names_of_lines_that_end_in_one_place_stand_in_the_order_given(self):
        ends = [(200.001, "10000 rpm", "chart-key", "ink"), (200.0, "800 rpm", "chart-key", "ink")]
        assert [name.text for name in names_beside(ends, plot())] == ["10000 rpm", "800 rpm"]

    def test_no_line_has_no_name(self):
        assert self.beside() == ()


class TestKey:
    ENTRIES = [(styles.delivered(PRINT), "line", DELIVERED), (styles.target(PRINT), "line", "wanted")]

    def test_a_sample_of_the_pen_stands_before_the_words(self):
        [entry], height = place_key(self.ENTRIES[:1], 40, 640, 400, NAMED)
        assert corners(entry.layer.d) == [(40, 400 + KEY_ROW / 2), (40 + SAMPLE, 400 + KEY_ROW / 2)]
        assert entry.layer.style == styles.delivered(PRINT)
        text = entry.text
        assert (text.text, text.anchor, text.fill) == (DELIVERED, "start", "ink")
        assert colours()[text.css] == {"fill": "ink"}
        assert text.x == 40 + SAMPLE + ASIDE
        assert text.y - CENTRED == pytest.approx(400 + KEY_ROW / 2, abs=0.006)
        assert height == KEY_ROW

    def test_entries_stand_beside_one_another_while_there_is_room(self):
        (first, second), height = place_key(self.ENTRIES, 40, 640, 400, NAMED)
        assert first.text.y == second.text.y
        end_of_first = first.text.x + width_of(first.text.text)
        assert corners(second.layer.d)[0][0] == pytest.approx(end_of_first + KEY_GAP, abs=0.011)
        assert height == KEY_ROW

    @pytest.mark.parametrize(("spare", "rows"), [(0.01, 1), (-0.01, 2)])
    def test_an_entry_that_would_run_off_the_right_begins_a_row(self, spare, rows):
        spans = [SAMPLE + ASIDE + width_of(words) for _, _, words in self.ENTRIES]
        right = 40 + spans[0] + KEY_GAP + spans[1] + spare
        (first, second), height = place_key(self.ENTRIES, 40, right, 400, NAMED)
        assert second.text.y - first.text.y == pytest.approx((rows - 1) * KEY_ROW)
        assert (second.text.x == first.text.x) == (rows == 2)
        assert height == rows * KEY_ROW

    def test_the_first_of_a_row_stays_in_it_however_long_it_is(self):
        (first, second), height = place_key(self.ENTRIES, 40, 60, 400, NAMED)
        assert first.text.y - CENTRED == pytest.approx(400 + KEY_ROW / 2, abs=0.006)
        assert second.text.y - first.text.y == KEY_ROW
        assert height == 2 * KEY_ROW

    def test_no_entry_takes_no_height(self):
        assert place_key([], 40, 640, 400, NAMED) == ((), 0)

    @pytest.mark.parametrize(
        ("sample", "draw"), [("diagonal", diagonal_crosses), ("upright", upright_crosses), ("diamond", diamonds)]
    )
    def test_a_cross_of_its_own_kind_stands_in_the_middle_of_the_sample(self, sample, draw):
        [entry], _ = place_key([(styles.reading(PRINT), sample, "x")], 40, 640, 400, NAMED)
        assert entry.layer.d == draw([(40 + SAMPLE / 2, 400 + KEY_ROW / 2)])

    def test_a_sample_that_it_does_not_have_is_refused(self):
        with pytest.raises(ChartError, match=r"^the key has no sample 'wave'$"):
            place_key([(styles.reading(PRINT), "wave", "x")], 40, 640, 400, NAMED)

    def test_a_band_is_an_oblong_as_long_as_a_line_and_half_a_row_high(self):
        [entry], _ = place_key([(styles.band(PRINT), "band", "x")], 40, 640, 400, NAMED)
        middle, high = 400 + KEY_ROW / 2, KEY_ROW / 4
        assert corners(entry.layer.d) == [
            (40, middle - high),
            (40 + SAMPLE, middle - high),
            (40 + SAMPLE, middle + high),
            (40, middle + high),
        ]
        assert entry.layer.d.endswith("Z")

    def test_places_are_written_to_a_hundredth(self):
        [entry], _ = place_key(self.ENTRIES[:1], 40.1234, 640, 400.5678, NAMED)
        assert (entry.text.x, entry.text.y) == (round(entry.text.x, 2), round(entry.text.y, 2))
        assert entry.text.x == pytest.approx(40.1234 + SAMPLE + ASIDE, abs=0.006)


def test_degrees_are_spoken_with_a_true_minus_and_a_tenth_at_most():
    assert [degrees(value) for value in (12.5, 12.0, -3.25, 0.0)] == ["12.5°", "12°", "−3.2°", "0°"]
