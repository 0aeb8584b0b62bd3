"""What stands around the rotor under its cap: headings, figures, refusals, and where they have room."""

import math
from itertools import pairwise

import pytest

from tests.timing.charts.caps import AT_REST, EIGHT, FOUR, caps, drawn
from tests.timing.charts.inked import ground, misprinted, touches
from timing.charts import PRINT, ChartError, phasing_chart, styles
from timing.charts.page import CAPITAL, GAP, HEAD, LINE, width_of
from timing.distributor import rotor_phasing


class TestLimits:
    def test_a_workshop_s_stricter_limit_counts(self):
        for least, refused in ((2.70, 0), (2.71, 2)):  # 2.7075 mm at both ends
            chart = drawn(FOUR, limits={"least_overlap_mm": least})
            assert [text.text for text in chart.texts].count("outside the limits") == refused
            assert {layer.style for layer in chart.layers if layer.name == "overlap"} == {
                styles.overlap(PRINT, allowed=not refused)
            }

    @pytest.mark.parametrize(
        ("case", "refused"),
        [
            ((4, 8, 40, 20, 7, 4, 0.7, 17.1), 0),  # 11.45 degrees of the distributor, 3.997 mm: an overlap of 1.503 mm
            ((4, 8, 40, 20, 7, 4, 0.7, 13.9), 1),  # 13.05 degrees, 4.555 mm: 0.945 mm
            ((8, 6, 46, 24, 9, 5, 1.4, 26), 0),  # the gap doubled: 7.79 to 1.4 mm are 5.57
            ((8, 6, 46, 24, 9, 5, 1.6, 26), 2),  # 7.83 to 1.6 mm are 4.89
        ],
    )
    def test_unless_the_workshop_says_otherwise_a_millimetre_and_five_times_the_gap_are_asked_for(self, case, refused):
        # Handbook section 7, limits: common practice, no source.
        assert [text.text for text in drawn(case).texts].count("outside the limits") == refused

    def test_either_limit_alone_refuses(self):
        for ratio, refused in ((10.98, 0), (11.0, 2)):  # 10.99 at both ends
            chart = drawn(EIGHT, limits={"least_ratio": ratio})
            assert [text.text for text in chart.texts].count("outside the limits") == refused

    def test_a_figure_that_meets_its_limit_is_within(self):
        lowest = rotor_phasing(*FOUR).lowest
        exact = {"least_overlap_mm": lowest.overlap_mm, "least_ratio": lowest.ratio}
        assert "outside" not in drawn(FOUR, limits=exact).description


class TestLayout:
    def test_every_part_has_its_pen(self):
        cap, _ = caps(FOUR)
        assert cap.names() == [
            *("cap", "posts", "own-post", "in-line", "rotor", "shaft", "offset", "rotation", "overlap", "neighbour")
        ]
        pen = {layer.name: layer.style for layer in cap.layers}
        assert (pen["cap"], pen["posts"], pen["own-post"]) == (
            styles.cap(PRINT),
            styles.post(PRINT),
            styles.own_post(PRINT),
        )
        assert pen["rotor"] == pen["shaft"] == styles.rotor(PRINT)

    def test_on_a_phone_the_ends_stand_under_one_another_and_the_caps_are_larger(self):
        wide, narrow = caps(FOUR), caps(FOUR, width=360)
        assert wide[0].centre[1] == wide[1].centre[1]
        assert (wide[0].centre[0], wide[1].centre[0]) == (180, 540)
        assert [cap.centre[0] for cap in narrow] == [180, 180]
        assert narrow[0].radius == narrow[1].radius
        assert drawn(width=360).narrow
        assert not drawn().narrow

    @pytest.mark.parametrize("width", [320, 360, 480, 560, 720, 1000])
    @pytest.mark.parametrize("case", [FOUR, AT_REST])
    def test_nothing_covers_anything_and_all_is_on_the_paper(self, width, case):
        chart = drawn(case, width=width)
        assert misprinted(chart) == []
        both = caps(case, width=width)
        for cap in both:
            assert cap.radius <= cap.centre[0] <= width - cap.radius
            assert cap.radius >= 90
            for text in chart.texts:
                left, right, top, bottom = ground(text)
                across = left < cap.centre[0] + cap.radius and right > cap.centre[0] - cap.radius
                assert not (across and top < cap.centre[1] + cap.radius and bottom > cap.centre[1] - cap.radius)
        assert math.dist(both[0].centre, both[1].centre) > 2 * both[0].radius
        texts = chart.texts
        assert not [(a.text, b.text) for i, a in enumerate(texts) for b in texts[:i] if touches(a, b)]

    def test_each_end_says_its_name_over_its_cap_and_its_figures_under_it(self):
        for width in (360, 720):
            chart = drawn(FOUR, names=("cranking", "light load"), width=width)
            for cap, name in zip(caps(FOUR, width=width), ("cranking, 8° BTDC", "light load, 40° BTDC"), strict=True):
                first = [text.text for text in chart.texts].index(name)
                heading, *under = chart.texts[first : first + 4]
                assert all(text.x == pytest.approx(cap.centre[0]) for text in (heading, *under))
                assert all(text.anchor == "middle" for text in (heading, *under))
                assert cap.centre[1] - cap.radius - heading.y == pytest.approx(HEAD)
                assert heading.css == "chart-name"
                assert all(text.css == "chart-key" for text in under)
                assert under[0].y - cap.centre[1] - cap.radius == pytest.approx(GAP + LINE)
                assert [after.y - before.y for before, after in pairwise(under)] == [LINE, LINE]

    def test_ends_stand_side_by_side_as_soon_as_the_longest_of_their_words_have_room(self):
        longest = max(width_of(text.text) for text in drawn(AT_REST).texts)
        side_by_side = 2 * (longest + 2 * GAP)
        for width, rows in ((side_by_side, 1), (side_by_side - 0.1, 2)):
            assert len({cap.centre[1] for cap in caps(AT_REST, width=width)}) == rows

    @pytest.mark.parametrize("width", [333.333, 703.703])
    def test_lettering_stands_to_a_hundredth(self, width):
        chart = drawn(AT_REST, width=width)
        both = caps(AT_REST, width=width)
        assert all((text.x, text.y) == (round(text.x, 2), round(text.y, 2)) for text in chart.texts)
        assert all(min(abs(text.x - cap.centre[0]) for cap in both) < 0.011 for text in chart.texts)
        assert chart.height == round(chart.height, 2)
        assert chart.height - chart.texts[-1].y == pytest.approx(GAP, abs=0.011)
        assert chart.texts[1].y - both[0].centre[1] - both[0].radius == pytest.approx(GAP + LINE, abs=0.02)

    def test_a_refusal_has_a_line_of_its_own_under_the_figures(self):
        chart = drawn(AT_REST)
        [refusal] = [text for text in chart.texts if text.text == "outside the limits"]
        figures = [text for text in chart.texts if text.x == refusal.x and text is not refusal]
        assert refusal.y - max(text.y for text in figures) == LINE
        assert chart.height - drawn(EIGHT).height == LINE

    @pytest.mark.parametrize("width", [360, 720])
    def test_the_paper_begins_over_the_first_line_and_ends_under_the_last(self, width):
        for chart in (drawn(EIGHT, width=width), drawn(AT_REST, width=width)):
            assert min(text.y for text in chart.texts) == GAP + CAPITAL
            assert chart.height - max(text.y for text in chart.texts) == pytest.approx(GAP)

    @pytest.mark.parametrize(
        ("width", "radius"), [(320, 130), (360, 150), (560, 150), (620, 125), (700, 145), (900, 150)]
    )
    def test_a_cap_leaves_thirty_units_on_either_side_and_is_three_hundred_wide_at_most(self, width, radius):
        for cap in caps(FOUR, width=width):
            assert cap.radius == pytest.approx(radius)


class TestWords:
    def test_the_drawing_says_what_it_shows(self):
        assert drawn(AT_REST, names=("cranking", "light load at TDC")).description == (
            "Cap of 8 terminals seen from above, rotor turning clockwise. "
            "Cranking, 6° BTDC: tip in line with its terminal, overlap 7 mm, gap 0.7 mm, "
            "either neighbour: 11.9 mm away. "  # half of 9 + 5 mm; hypot(0.7, 45° at 24 mm - 7 mm)
            "Light load at TDC, 46° BTDC: tip 20° before its terminal, no overlap, gap 1.5 mm, "
            "the terminal just left: 3.5 mm away; outside the limits."
        )

    def test_a_sliver_of_overlap_is_an_overlap(self):
        # Handbook section 7: a six locked at 10 degrees overlaps by 0.1357 mm at 42.
        assert "overlap 0.1 mm, gap 0.7 mm" in {text.text for text in drawn((6, 6, 42, 21, 8, 4, 0.7, 10)).texts}

    @pytest.mark.parametrize(
        ("aligned", "words"),
        [
            (20.0, "tip in line with its terminal"),
            (20.08, "tip in line with its terminal"),
            (19.8, "tip 0.1° before its terminal"),
        ],
    )
    def test_less_than_a_twentieth_of_a_degree_is_in_line(self, aligned, words):
        chart = drawn((4, 20, 40, 20, 7, 4, 0.7, aligned))
        assert words in {text.text for text in chart.texts}

    def test_it_bears_its_name_and_its_title(self):
        chart = drawn(title="Rotor of this car")
        assert (chart.uid, chart.title, chart.kind) == ("p", "Rotor of this car", "phasing")
        assert chart.palette is PRINT
        assert drawn().title == "Rotor under the cap"


def test_a_drawing_too_narrow_is_refused():
    with pytest.raises(ChartError, match=r"^a drawing must be 240 or wider"):
        drawn(width=239)
    assert drawn(width=240).width == 240


def test_a_name_that_is_no_plain_word_is_refused():
    with pytest.raises(ChartError, match=r"^the name of a drawing"):
        phasing_chart(rotor_phasing(*FOUR), uid="p p")
