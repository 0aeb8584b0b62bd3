"""The rotor under its cap, read back from the drawing: every angle and length is that of the handbook's caps."""

import math
import re
from itertools import pairwise

import pytest

from tests.timing.arcs import arcs, circle, turned
from tests.timing.drawn import NUMBER, corners
from tests.timing.inked import ground, misprinted, touches
from timing.charts import PRINT, ChartError, pens, phasing_chart
from timing.charts.paper import CAPITAL, GAP, HEAD, LINE, width_of
from timing.distributor import rotor_phasing

# Rows of the table in the project's handbook, section 7: N, range, radius, tip, post, gap, in line at.
FOUR = (4, 8, 40, 20, 7, 4, 0.7, 24)
SIX = (6, 6, 42, 21, 8, 4, 0.7, 24)
EIGHT = (8, 6, 46, 24, 9, 5, 0.7, 26)
AT_REST = (8, 6, 46, 24, 9, 5, 0.7, 6)  # locked at rest: 1.3776 mm short of its post at 46 degrees

CASES = [
    # overlap, offset in degrees of the distributor, way to the neighbour, all at the highest advance
    (FOUR, 2.7075, 8, 23.1340),
    (SIX, 2.7013, 9, 12.7118),
    (EIGHT, 2.8112, 10, 7.6927),
]
each_cap = pytest.mark.parametrize(("case", "overlap_mm", "offset_deg", "neighbour_mm"), CASES)
both_senses = pytest.mark.parametrize("clockwise", [True, False], ids=["clockwise", "anticlockwise"])


def drawn(case=FOUR, **look):
    return phasing_chart(rotor_phasing(*case), uid="p", **look)


class Cap:
    """One of the two caps of a drawing, with its scale and its layers."""

    def __init__(self, chart, which, tip_radius_mm):
        begins = [index for index, layer in enumerate(chart.layers) if layer.name == "cap"] + [len(chart.layers)]
        self.layers = chart.layers[begins[which] : begins[which + 1]]
        self.centre, self.radius = circle(self.one("cap").d)
        self.per_mm = self.arc("rotor").radius / tip_radius_mm  # [units of the drawing per mm]

    def one(self, name):
        [layer] = [layer for layer in self.layers if layer.name == name]
        return layer

    def names(self):
        return [layer.name for layer in self.layers]

    def arc(self, name):
        [arc] = arcs(self.one(name).d)
        return arc

    def reach(self, place):
        return math.dist(place, self.centre)

    def angle(self, place):
        return turned(place, self.centre)


def caps(case, **look):
    """The lowest and the highest advance, as drawn."""
    chart = drawn(case, **look)
    return Cap(chart, 0, case[3]), Cap(chart, 1, case[3])


def spread(arc):
    """Degrees of a short arc."""
    start, end = arc.from_upright()
    return abs((end - start + 180) % 360 - 180)


class TestToScale:
    @each_cap
    def test_the_overlap_is_drawn_in_the_gap_along_its_whole_length(self, case, overlap_mm, offset_deg, neighbour_mm):
        for cap in caps(case):
            arc = cap.arc("overlap")
            assert math.radians(spread(arc)) * case[3] == pytest.approx(overlap_mm, abs=0.02)
            assert arc.radius / cap.per_mm == pytest.approx(case[3] + case[6] / 2, abs=0.01)  # the middle of the gap
            assert cap.one("overlap").pen == pens.overlap(PRINT, allowed=True)

    @each_cap
    @both_senses
    def test_an_early_spark_finds_the_tip_before_its_post(self, case, overlap_mm, offset_deg, neighbour_mm, clockwise):
        chart = drawn(case, clockwise=clockwise)
        for cap, offset in zip(caps(case, clockwise=clockwise), (-offset_deg, offset_deg), strict=True):
            shaft, tip = corners(cap.one("offset").d)
            assert shaft == pytest.approx(cap.centre, abs=0.01)
            assert cap.angle(tip) == pytest.approx(-offset if clockwise else offset, abs=0.05)
            assert cap.reach(tip) / cap.per_mm == pytest.approx(case[3], abs=0.02)
            assert cap.one("offset").pen == cap.one("in-line").pen == pens.sight(PRINT)
        assert any(f"tip {offset_deg}° before its post" in text.words for text in chart.texts)
        assert any(f"tip {offset_deg}° past its post" in text.words for text in chart.texts)

    @each_cap
    def test_the_way_to_the_neighbour_is_drawn_from_edge_to_edge(self, case, overlap_mm, offset_deg, neighbour_mm):
        for cap, side in zip(caps(case), (1, -1), strict=True):
            arc = cap.arc("neighbour")
            # The handbook's gap is the hypotenuse over the radial gap of 0.7 mm.
            along = math.sqrt(neighbour_mm**2 - 0.7**2)
            assert math.radians(spread(arc)) * case[3] == pytest.approx(along, abs=0.03)
            edge = side * (360 / case[0] - math.degrees(case[5] / case[3]) / 2)
            assert cap.angle(arc.end) == pytest.approx(edge, abs=0.05)
            assert arc.radius / cap.per_mm == pytest.approx(case[3] + case[6] / 2, abs=0.01)
            assert cap.one("neighbour").pen == pens.measure(PRINT)

    @each_cap
    def test_tip_posts_and_gap_have_their_sizes(self, case, overlap_mm, offset_deg, neighbour_mm):
        _, _, _, tip_radius, tip_mm, post_mm, gap_mm, _ = case
        for cap, tip_at in zip(caps(case), (offset_deg, -offset_deg), strict=True):
            tip = cap.arc("rotor")
            assert math.radians(spread(tip)) * tip_radius == pytest.approx(tip_mm, abs=0.02)
            assert sum(tip.from_upright()) / 2 == pytest.approx(tip_at, abs=0.05)
            face, back = arcs(cap.one("own-post").d)
            assert face.radius / cap.per_mm - tip_radius == pytest.approx(gap_mm, abs=0.01)
            assert face.radius < back.radius < cap.radius
            for side in (face, back):
                assert math.radians(spread(side)) * tip_radius == pytest.approx(post_mm, abs=0.02)
                assert sum(side.from_upright()) == pytest.approx(0, abs=0.05)  # its post is on top

    @pytest.mark.parametrize("case", [FOUR, SIX, EIGHT])
    def test_posts_are_spread_evenly_and_alike(self, case):
        for cap in caps(case):
            own, others = arcs(cap.one("own-post").d), arcs(cap.one("posts").d)
            assert len(others) == 2 * (case[0] - 1)
            assert cap.one("posts").d.count("Z") == case[0] - 1
            for number, (face, back) in enumerate(zip(others[::2], others[1::2], strict=True), start=1):
                middle = cap.angle(((face.start[0] + face.end[0]) / 2, (face.start[1] + face.end[1]) / 2))
                assert middle % 360 == pytest.approx(number * 360 / case[0], abs=0.05)
                assert (face.radius, back.radius) == (own[0].radius, own[1].radius)
                assert spread(face) == pytest.approx(spread(own[0]), abs=0.1)

    @both_senses
    @pytest.mark.parametrize("case", [FOUR, SIX, AT_REST])
    def test_every_arc_goes_about_the_shaft(self, case, clockwise):
        for cap in caps(case, clockwise=clockwise):
            for layer in cap.layers:
                for arc in arcs(layer.d):
                    assert arc.centre == pytest.approx(cap.centre, abs=1.5), layer.name  # places are to a hundredth
                    assert cap.reach(arc.start) == pytest.approx(arc.radius, abs=0.02)
                    assert cap.reach(arc.end) == pytest.approx(arc.radius, abs=0.02)
            shaft, radius = circle(cap.one("shaft").d)
            assert shaft == pytest.approx(cap.centre, abs=0.02)
            assert radius < cap.arc("rotation").radius

    def test_the_line_to_the_post_runs_from_the_shaft_to_its_face(self):
        for cap in caps(FOUR):
            begins, ends = corners(cap.one("in-line").d)
            assert cap.angle(begins) == pytest.approx(0, abs=0.05)
            assert cap.angle(ends) == pytest.approx(0, abs=0.05)
            assert circle(cap.one("shaft").d)[1] < cap.reach(begins) < cap.arc("rotation").radius
            assert cap.reach(ends) == pytest.approx(arcs(cap.one("own-post").d)[0].radius, abs=0.02)

    @pytest.mark.parametrize("case", [FOUR, SIX, EIGHT])
    def test_the_arm_broadens_from_the_shaft_to_the_tip_alike_on_both_sides(self, case):
        for cap in caps(case):
            rotor = cap.one("rotor").d
            assert rotor.endswith("Z")
            straight = re.sub(rf"A{NUMBER} {NUMBER} 0 0 [01] ", "L", rotor)
            at_shaft, *side = corners(straight)
            assert at_shaft == pytest.approx(cap.centre, abs=0.01)
            tip = cap.angle(corners(cap.one("offset").d)[1])
            outward = [(cap.reach(place), cap.angle(place) - tip) for place in side]
            there, back = outward[:3], outward[3:][::-1]
            for (reach, angle), (same_reach, same_angle) in zip(there, back, strict=True):
                assert reach == pytest.approx(same_reach, abs=0.02)
                assert angle == pytest.approx(-same_angle, abs=0.1)
            assert [reach for reach, _ in there] == sorted(reach for reach, _ in there)
            widths = [reach * -angle for reach, angle in there]
            assert 0 < widths[0] < widths[1] <= widths[2]


class TestOffItsPost:
    def test_the_leap_is_drawn_from_edge_to_edge(self):
        touching, leaping = caps(AT_REST)
        assert "leap" not in touching.names()
        assert "overlap" not in leaping.names()
        leap = leaping.one("leap")
        start, end = corners(leap.d)
        # Handbook section 7: 1.5452 mm, reckoned along the arc; a straight is a trifle longer.
        assert math.dist(start, end) / leaping.per_mm == pytest.approx(1.5452, abs=0.03)
        assert leaping.reach(start) / leaping.per_mm == pytest.approx(24, abs=0.02)
        assert leaping.reach(end) / leaping.per_mm == pytest.approx(24.7, abs=0.02)
        assert leaping.angle(end) == pytest.approx(-math.degrees(5 / 24) / 2, abs=0.05)
        assert leap.pen == pens.overlap(PRINT, allowed=False)

    def test_past_its_post_it_leaps_backwards(self):
        lowest, _ = caps((8, 6, 46, 24, 9, 5, 0.7, 46))
        start, end = corners(lowest.one("leap").d)
        assert lowest.angle(start) > lowest.angle(end) == pytest.approx(math.degrees(5 / 24) / 2, abs=0.05)

    def test_it_is_refused_in_words(self):
        chart = drawn(AT_REST)
        words = [text.words for text in chart.texts]
        assert words.count("outside the limits") == 1
        assert "no overlap, gap 1.5 mm" in words
        assert "the post just left: 3.5 mm away" in words
        [refusal] = [text for text in chart.texts if text.words == "outside the limits"]
        assert refusal.css == "chart-key chart-refused"
        assert refusal.weight == 700

    def test_a_tip_that_just_meets_the_edge_of_its_post_has_no_overlap(self):
        # Half of 8 + 4 mm along the arc at 20 mm: 17.1887 degrees of the distributor, 34.3775 of the crank.
        edge = math.degrees(6 / 20) * 2
        _, cap = caps((4, 0, edge, 20, 8, 4, 0.7, 0))
        assert ("overlap" in cap.names()) != ("leap" in cap.names())

    def test_a_neighbour_already_reached_has_no_way_to_it(self):
        # 60 degrees of crank are 30 of the distributor: past the middle between the posts of a twelve.
        _, cap = caps((12, 0, 60, 24, 9, 5, 0.7, 0))
        assert "neighbour" not in cap.names()


class TestLimits:
    def test_a_workshop_s_stricter_limit_counts(self):
        for least, refused in ((2.70, 0), (2.71, 2)):  # 2.7075 mm at both ends
            chart = drawn(FOUR, least_overlap_mm=least)
            assert [text.words for text in chart.texts].count("outside the limits") == refused
            assert {layer.pen for layer in chart.layers if layer.name == "overlap"} == {
                pens.overlap(PRINT, allowed=not refused)
            }

    def test_either_limit_alone_refuses(self):
        for ratio, refused in ((10.98, 0), (11.0, 2)):  # 10.99 at both ends
            chart = drawn(EIGHT, least_ratio=ratio)
            assert [text.words for text in chart.texts].count("outside the limits") == refused

    def test_a_figure_that_meets_its_limit_is_within(self):
        phasing = rotor_phasing(*FOUR)
        exact = {"least_overlap_mm": phasing.lowest.overlap_mm, "least_ratio": phasing.lowest.ratio}
        assert "outside" not in phasing_chart(phasing, uid="p", **exact).words


class TestRotation:
    @both_senses
    def test_the_arrow_points_in_the_sense_of_rotation_beneath_the_shaft(self, clockwise):
        for cap in caps(FOUR, clockwise=clockwise):
            rotation = cap.one("rotation")
            assert rotation.pen == pens.rotation(PRINT)
            [arc] = arcs(rotation.d)
            assert arc.clockwise == clockwise
            inner, point, outer = corners(rotation.d[rotation.d.rindex("M") :])
            onward = 1 if clockwise else -1
            assert onward * (cap.angle(point) - cap.angle(arc.start)) % 360 == pytest.approx(68, abs=0.5)
            assert 0 < onward * (cap.angle(point) - cap.angle(arc.end)) % 360 < 5  # the line ends inside its head
            assert cap.angle(inner) == pytest.approx(cap.angle(outer), abs=0.5)
            assert 10 < onward * (cap.angle(point) - cap.angle(inner)) % 360 < 20
            assert cap.reach(point) == pytest.approx(arc.radius, abs=0.02)
            assert cap.reach(outer) - arc.radius == pytest.approx(arc.radius - cap.reach(inner), abs=0.03)
            assert cap.reach(outer) > arc.radius
            assert all(y > cap.centre[1] for _, y in (arc.start, arc.end, inner, point, outer))
            assert arc.radius < cap.arc("rotor").radius - 4 * cap.per_mm

    def test_anticlockwise_is_the_mirror_image(self):
        for one, other in zip(caps(AT_REST), caps(AT_REST, clockwise=False), strict=True):
            assert one.names() == other.names()
            for layer, mirrored in zip(one.layers, other.layers, strict=True):
                if layer.name in ("cap", "shaft"):
                    assert layer.d == mirrored.d
                    continue
                for arc, its in zip(arcs(layer.d), arcs(mirrored.d), strict=True):
                    assert arc.clockwise != its.clockwise
                    assert 2 * one.centre[0] - arc.start[0] == pytest.approx(its.start[0], abs=0.02)
                    assert 2 * one.centre[0] - arc.end[0] == pytest.approx(its.end[0], abs=0.02)
                    assert (arc.start[1], arc.end[1]) == pytest.approx((its.start[1], its.end[1]), abs=0.02)

    def test_the_sense_of_rotation_is_said(self):
        assert "rotor turning anticlockwise." in drawn(clockwise=False).words
        assert "rotor turning clockwise." in drawn().words


class TestLayout:
    def test_every_part_has_its_pen(self):
        cap, _ = caps(FOUR)
        assert cap.names() == [
            *("cap", "posts", "own-post", "in-line", "rotor", "shaft", "offset", "rotation", "overlap", "neighbour")
        ]
        pen = {layer.name: layer.pen for layer in cap.layers}
        assert (pen["cap"], pen["posts"], pen["own-post"]) == (pens.cap(PRINT), pens.post(PRINT), pens.own_post(PRINT))
        assert pen["rotor"] == pen["shaft"] == pens.rotor(PRINT)

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
        assert not [(a.words, b.words) for i, a in enumerate(texts) for b in texts[:i] if touches(a, b)]

    def test_each_end_says_its_name_over_its_cap_and_its_figures_under_it(self):
        for width in (360, 720):
            chart = drawn(FOUR, names=("cranking", "light load"), width=width)
            for cap, name in zip(caps(FOUR, width=width), ("cranking, 8° BTDC", "light load, 40° BTDC"), strict=True):
                first = [text.words for text in chart.texts].index(name)
                heading, *under = chart.texts[first : first + 4]
                assert all(text.x == pytest.approx(cap.centre[0]) for text in (heading, *under))
                assert all(text.anchor == "middle" for text in (heading, *under))
                assert cap.centre[1] - cap.radius - heading.y == pytest.approx(HEAD)
                assert heading.css == "chart-name"
                assert all(text.css == "chart-key" for text in under)
                assert under[0].y - cap.centre[1] - cap.radius == pytest.approx(GAP + LINE)
                assert [after.y - before.y for before, after in pairwise(under)] == [LINE, LINE]

    def test_ends_stand_side_by_side_as_soon_as_the_longest_of_their_words_have_room(self):
        longest = max(width_of(text.words) for text in drawn(AT_REST).texts)
        side_by_side = 2 * (longest + 2 * GAP)
        for width, rows in ((side_by_side, 1), (side_by_side - 0.1, 2)):
            assert len({cap.centre[1] for cap in caps(AT_REST, width=width)}) == rows

    def test_a_refusal_has_a_line_of_its_own_under_the_figures(self):
        chart = drawn(AT_REST)
        [refusal] = [text for text in chart.texts if text.words == "outside the limits"]
        figures = [text for text in chart.texts if text.x == refusal.x and text is not refusal]
        assert refusal.y - max(text.y for text in figures) == LINE
        assert chart.height - drawn(EIGHT).height == LINE

    @pytest.mark.parametrize("width", [360, 720])
    def test_the_paper_begins_over_the_first_line_and_ends_under_the_last(self, width):
        for chart in (drawn(EIGHT, width=width), drawn(AT_REST, width=width)):
            assert min(text.y for text in chart.texts) == GAP + CAPITAL
            assert chart.height - max(text.y for text in chart.texts) == pytest.approx(GAP)

    @pytest.mark.parametrize(("width", "radius"), [(320, 130), (360, 150), (560, 110), (700, 145), (720, 150)])
    def test_a_cap_leaves_thirty_units_on_either_side_and_is_three_hundred_wide_at_most(self, width, radius):
        for cap in caps(FOUR, width=width):
            assert cap.radius == pytest.approx(radius)


class TestWords:
    def test_the_drawing_says_what_it_shows(self):
        assert drawn(AT_REST, names=("cranking", "light load at TDC")).words == (
            "Cap of 8 posts seen from above, rotor turning clockwise. "
            "Cranking, 6° BTDC: tip in line with its post, overlap 7 mm, gap 0.7 mm, "
            "either neighbouring post: 11.9 mm away. "  # half of 9 + 5 mm; hypot(0.7, 45° at 24 mm - 7 mm)
            "Light load at TDC, 46° BTDC: tip 20° before its post, no overlap, gap 1.5 mm, "
            "the post just left: 3.5 mm away; outside the limits."
        )

    @pytest.mark.parametrize(
        ("aligned", "words"),
        [(20.0, "tip in line with its post"), (20.08, "tip in line with its post"), (19.8, "tip 0.1° before its post")],
    )
    def test_less_than_a_twentieth_of_a_degree_is_in_line(self, aligned, words):
        chart = drawn((4, 20, 40, 20, 7, 4, 0.7, aligned))
        assert words in {text.words for text in chart.texts}

    def test_it_bears_its_name_and_its_title(self):
        chart = drawn(title="Rotor of this car")
        assert (chart.uid, chart.title, chart.kind) == ("p", "Rotor of this car", "phasing")
        assert chart.palette is PRINT


def test_a_drawing_too_narrow_is_refused():
    with pytest.raises(ChartError, match="240 or wider"):
        drawn(width=239)
    assert drawn(width=240).width == 240


def test_a_name_that_is_no_plain_word_is_refused():
    with pytest.raises(ChartError, match="the name of a drawing"):
        phasing_chart(rotor_phasing(*FOUR), uid="p p")
