"""The rotor under its cap, read back from the drawing: every angle and length is that of the handbook's caps."""

import math
import re

import pytest

from tests.timing.charts.arcs import arcs, circle
from tests.timing.charts.caps import AT_REST, EIGHT, FOUR, SIX, caps, drawn
from tests.timing.charts.drawn import NUMBER, corners
from timing.charts import PRINT, styles

CASES = [
    # overlap, offset in degrees of the distributor, way to the neighbour, all at the highest advance
    (FOUR, 2.7075, 8, 23.1340),
    (SIX, 2.7013, 9, 12.7118),
    (EIGHT, 2.8112, 10, 7.6927),
]
each_cap = pytest.mark.parametrize(("case", "overlap_mm", "offset_deg", "neighbour_mm"), CASES)
both_senses = pytest.mark.parametrize("clockwise", [True, False], ids=["clockwise", "anticlockwise"])


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
            assert cap.one("overlap").style == styles.overlap(PRINT, allowed=True)

    @each_cap
    @both_senses
    def test_an_early_spark_finds_the_tip_before_its_post(self, case, overlap_mm, offset_deg, neighbour_mm, clockwise):
        chart = drawn(case, clockwise=clockwise)
        for cap, offset in zip(caps(case, clockwise=clockwise), (-offset_deg, offset_deg), strict=True):
            shaft, tip = corners(cap.one("offset").d)
            assert shaft == pytest.approx(cap.centre, abs=0.01)
            assert cap.angle(tip) == pytest.approx(-offset if clockwise else offset, abs=0.05)
            assert cap.reach(tip) / cap.per_mm == pytest.approx(case[3], abs=0.02)
            assert cap.one("offset").style == cap.one("in-line").style == styles.sight(PRINT)
        assert any(f"tip {offset_deg}° before its terminal" in text.text for text in chart.texts)
        assert any(f"tip {offset_deg}° past its terminal" in text.text for text in chart.texts)

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
            assert cap.one("neighbour").style == styles.measure(PRINT)

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
    def test_posts_and_rotor_are_closed_and_measures_are_open(self, case, clockwise):
        for cap in caps(case, clockwise=clockwise):
            for layer in cap.layers:
                if layer.name in ("posts", "own-post", "rotor"):
                    assert layer.d.count("M") == layer.d.count("Z")
                    assert layer.d.endswith("Z")
                elif layer.name in ("overlap", "leap", "neighbour", "offset", "in-line"):
                    assert layer.d.count("M") == 1
                    assert "Z" not in layer.d

    @both_senses
    @pytest.mark.parametrize("case", [FOUR, SIX, AT_REST])
    def test_every_arc_goes_about_the_shaft(self, case, clockwise):
        for cap in caps(case, clockwise=clockwise):
            for layer in cap.layers:
                for arc in arcs(layer.d) if layer.name not in ("cap", "shaft") else ():
                    assert arc.centre == pytest.approx(cap.centre, abs=1.5), layer.name  # places are to a hundredth
                    assert cap.reach(arc.start) == pytest.approx(arc.radius, abs=0.02)
                    assert cap.reach(arc.end) == pytest.approx(arc.radius, abs=0.02)
            shaft, radius = circle(cap.one("shaft").d)
            assert shaft == pytest.approx(cap.centre, abs=0.02)
            assert radius < cap.arc("rotation").radius

    @pytest.mark.parametrize(("aligned", "side"), [(7, -1), (9, 1)])  # the spark at 8: half a degree to either side
    def test_the_neighbour_is_that_which_the_tip_leans_to(self, aligned, side):
        cap, _ = caps((4, 8, 40, 20, 7, 4, 0.7, aligned))
        arc = cap.arc("neighbour")
        assert 0 < side * cap.angle(arc.start) < side * cap.angle(arc.end) < 90

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
        assert leap.style == styles.overlap(PRINT, allowed=False)

    def test_past_its_post_it_leaps_backwards(self):
        lowest, _ = caps((8, 6, 46, 24, 9, 5, 0.7, 46))
        start, end = corners(lowest.one("leap").d)
        assert lowest.angle(start) > lowest.angle(end) == pytest.approx(math.degrees(5 / 24) / 2, abs=0.05)

    def test_it_is_refused_in_words(self):
        chart = drawn(AT_REST)
        words = [text.text for text in chart.texts]
        assert words.count("outside the limits") == 1
        assert "no overlap, gap 1.5 mm" in words
        assert "the terminal just left: 3.5 mm away" in words
        [refusal] = [text for text in chart.texts if text.text == "outside the limits"]
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


class TestRotation:
    @both_senses
    def test_the_arrow_points_in_the_sense_of_rotation_beneath_the_shaft(self, clockwise):
        for cap in caps(FOUR, clockwise=clockwise):
            rotation = cap.one("rotation")
            assert rotation.style == styles.rotation(PRINT)
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
        assert "rotor turning anticlockwise." in drawn(clockwise=False).description
        assert "rotor turning clockwise." in drawn().description
