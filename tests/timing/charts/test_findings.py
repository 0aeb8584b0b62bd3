"""Where the marks of findings stand: near what they speak of, clear of the curve and of one another."""

import math
from itertools import combinations

import pytest

from tests.timing.charts.drawn import corners, distance_to_line
from timing.charts import FindingMark
from timing.charts.findings import (
    FROM_CURVE,
    FROM_EDGE,
    FROM_LEADER,
    FROM_MARK,
    IN_TRIANGLE,
    LONGEST_LEADER,
    MARK,
    RINGS,
    distance,
    outline,
    place_findings,
)
from timing.charts.page import CENTRED, Plot
from timing.charts.palette import PRINT
from timing.charts.scale import Scale


def plot(left=40.0, right=640.0, top=60.0, bottom=360.0) -> Plot:
    """6000 rpm across and 30 degrees up; on the usual size ten rpm, and a tenth of a degree, to a unit."""
    return Plot(Scale(0, 6000, left, right), Scale(0, 30, bottom, top), "crank rpm", "degrees of crank")


def notes(*speeds: float) -> list[FindingMark]:
    return [FindingMark(chr(65 + which), "note", rpm, rpm) for which, rpm in enumerate(speeds)]


def placed(findings, curve, on=None):
    """The marks on a curve of (rpm, degrees)."""
    panel = on or plot()
    return place_findings(findings, panel, [panel.at(*point) for point in curve], PRINT)


def stance(mark) -> tuple[float, float]:
    """How far a mark stands from its foot in halves of a mark, and turned how far from upright, in degrees."""
    foot = corners(mark.leader)[-1]
    dx, dy = mark.x - foot[0], foot[1] - mark.y
    return math.hypot(dx, dy) / MARK, math.degrees(math.atan2(dx, dy))


def at_ring(ring: int, turn: float):
    """The stance of the given ring and turn, as exactly as places are written out."""
    return (pytest.approx(RINGS[ring], abs=0.003), pytest.approx(turn, abs=0.1))


def level(degrees: float):
    return [(0, degrees), (6000, degrees)]


# From nought to the top of the panel within a hundred rpm.
CLIFF = [(0, 2), (3300, 2), (3400, 28), (6000, 28)]


def zigzag(low: float, high: float):
    """A curve that goes up and down the whole panel from `low` to `high` rpm, 6 units apart, and is 0 beyond."""
    middle = [(rpm, 30 * (which % 2)) for which, rpm in enumerate(range(low, high + 1, 60))]
    return [(0, 0), *middle, (6000, 0)]


class TestOneMark:
    @pytest.mark.parametrize(
        ("kind", "base", "colour"),
        [("stop", CENTRED, PRINT.stop), ("caution", IN_TRIANGLE, PRINT.caution), ("note", CENTRED, PRINT.ink)],
    )
    def test_it_stands_straight_above_the_middle_of_its_stretch_with_its_letter_inside(self, kind, base, colour):
        [mark] = placed([FindingMark("AB", kind, 2000, 4000, "a sentence")], level(5))
        assert stance(mark) == at_ring(0, 0)
        assert corners(mark.leader)[-1] == (340, 310)
        assert (mark.letter, mark.kind, mark.sentence, mark.colour) == ("AB", kind, "a sentence", colour)
        assert mark.letter_y == pytest.approx(mark.y + base, abs=0.011)
        assert mark.outline == outline(kind, mark.x, mark.y)

    def test_the_letter_of_a_triangle_stands_lower_where_there_is_room_but_inside(self):
        assert CENTRED < IN_TRIANGLE < MARK

    @pytest.mark.parametrize(("slope", "turn"), [(0.02, -25), (-0.02, 25)])
    def test_on_a_steep_curve_it_leans_to_the_open_side_and_its_leader_runs_from_its_rim(self, slope, turn):
        [mark] = placed(notes(3000), [(2500, 10 - 500 * slope), (3500, 10 + 500 * slope)])  # two units up for one along
        assert stance(mark) == at_ring(0, turn)
        start, foot = corners(mark.leader)
        centre = (mark.x, mark.y)
        assert math.dist(start, centre) == pytest.approx(MARK, abs=0.02)
        assert math.dist(start, centre) + math.dist(start, foot) == pytest.approx(math.dist(centre, foot), abs=0.02)

    def test_it_stands_beneath_a_curve_along_the_top(self):
        [mark] = placed(notes(3000), level(30))
        assert stance(mark) == (pytest.approx(RINGS[0], abs=0.003), pytest.approx(180, abs=0.1))

    @pytest.mark.parametrize(("degrees", "foot"), [(45, 60), (-5, 360)])
    def test_what_lies_off_the_paper_is_pointed_at_on_its_edge(self, degrees, foot):
        [mark] = placed(notes(3000), level(degrees))
        assert corners(mark.leader)[-1] == (340, foot)

    @pytest.mark.parametrize(("low", "high", "foot"), [(-2000, -500, 40), (7000, 9000, 640), (5000, 9000, 640)])
    def test_a_stretch_beyond_the_paper_is_pointed_at_on_its_edge(self, low, high, foot):
        [mark] = placed([FindingMark("A", "note", low, high)], level(5))
        assert corners(mark.leader)[-1] == (foot, 310)
        assert mark.x + 0.006 >= 40 + FROM_EDGE * MARK
        assert mark.x - 0.006 <= 640 - FROM_EDGE * MARK

    def test_places_are_written_to_a_hundredth(self):
        [mark] = placed(notes(1234.567), [(0, 0), (6000, 18)])
        assert (mark.x, mark.y, mark.letter_y) == tuple(round(one, 2) for one in (mark.x, mark.y, mark.letter_y))
        assert mark.x == pytest.approx(163.46 + RINGS[0] * MARK * math.sin(math.radians(stance(mark)[1])), abs=0.02)


class TestSeveralMarks:
    def test_they_are_set_down_from_the_left_and_at_one_speed_by_their_letter(self):
        findings = [
            FindingMark("C", "note", 4000, 4000),
            FindingMark("B", "note", 1000, 2000),
            FindingMark("A", "note", 500, 2500),
            FindingMark("D", "note", 0, 1000),
        ]
        assert [mark.letter for mark in placed(findings, level(5))] == ["D", "A", "B", "C"]

    def test_a_second_at_the_same_place_stands_straight_beneath(self):
        first, second = placed(notes(3000, 3000), level(10))
        assert stance(first) == at_ring(0, 0)
        assert stance(second) == (pytest.approx(RINGS[0], abs=0.003), pytest.approx(180, abs=0.1))

    def test_where_there_is_nothing_beneath_they_fan_out_to_the_left_and_to_the_right(self):
        # By hand: in the nearest ring the others would touch the first or the curve; in the next both sides are
        # free; a fourth has to go out so far that its leader passes the mark on its side.
        marks = placed(notes(3000, 3000, 3000, 3000), level(0))
        assert [stance(mark) for mark in marks] == [
            at_ring(0, 0),
            at_ring(1, -50),
            at_ring(1, 50),
            at_ring(4, -75),
        ]

    @pytest.mark.parametrize(
        "curve",
        [level(8), [(0, 0), (6000, 24)], [(0, 24), (6000, 0)], [(0, 20), (3000, 12), (6000, 20)], CLIFF],
        ids=["level", "rising", "falling", "vee", "cliff"],
    )
    @pytest.mark.parametrize("step", [0, 150, 300, 600])
    def test_a_crowd_stays_on_the_paper_covers_no_curve_no_leader_and_no_other(self, curve, step):
        findings = notes(*(2500 + step * which for which in range(5)))
        marks = placed(findings, curve)
        line = [plot().at(*point) for point in curve]
        for mark in marks:
            centre, foot = (mark.x, mark.y), corners(mark.leader)[-1]
            assert 40 + FROM_EDGE * MARK <= mark.x + 0.01 <= 640.02 - FROM_EDGE * MARK
            assert 60 + FROM_EDGE * MARK <= mark.y + 0.01 <= 360.02 - FROM_EDGE * MARK
            assert distance_to_line(centre, line) >= FROM_CURVE * MARK - 0.01
            for other in marks:
                if other is not mark:
                    assert distance_to_line((other.x, other.y), [centre, foot]) >= FROM_LEADER * MARK - 0.02
        for mark, other in combinations(marks, 2):
            assert math.dist((mark.x, mark.y), (other.x, other.y)) >= FROM_MARK * MARK - 0.02


class TestWhereThereIsNoRoom:
    def test_a_mark_that_cannot_but_cover_the_curve_stands_where_it_would_have_stood(self):
        [mark] = placed(notes(3000), zigzag(0, 6000))
        assert stance(mark) == at_ring(0, 0)

    def test_it_goes_out_to_a_clear_place_while_its_leader_does_not_grow_too_long(self):
        [mark] = placed(notes(3000), zigzag(2400, 3600))
        far, _ = stance(mark)
        assert RINGS[0] + 1 < far < LONGEST_LEADER
        assert abs(mark.x - 340) > 60 + MARK
        [mark] = placed(notes(3000), zigzag(1500, 4500))  # clear only where a leader would be too long
        assert stance(mark)[0] == pytest.approx(RINGS[0], abs=0.003)

    def test_a_second_covers_the_curve_but_not_the_first(self):
        first, second = placed(notes(3030, 3030), zigzag(0, 6000))
        assert stance(first) == at_ring(0, 0)
        assert stance(second) == at_ring(0, -75)  # at 25 and 50 degrees it would still touch the first

    @pytest.mark.parametrize(("rpm", "x"), [(0, FROM_EDGE * MARK), (3000, 16), (6000, 32 - FROM_EDGE * MARK)])
    @pytest.mark.parametrize("degrees", [0, 15, 30])
    def test_on_a_paper_with_no_room_at_all_a_mark_still_keeps_off_its_edges(self, rpm, x, degrees):
        [mark] = placed(notes(rpm), level(degrees), plot(0, 32, 0, 32))
        assert (mark.x, mark.y) == (pytest.approx(x, abs=0.006), pytest.approx(FROM_EDGE * MARK, abs=0.006))

    def test_the_last_of_too_many_stands_over_its_foot_and_covers_another(self):
        first, second, third = placed(notes(3000, 3000, 3000), level(0), plot(0, 40, 0, 100))
        assert math.dist((first.x, first.y), (second.x, second.y)) >= FROM_MARK * MARK
        assert (third.x, third.y) == (pytest.approx(20, abs=0.006), pytest.approx(100 - RINGS[0] * MARK, abs=0.006))


class TestDistance:
    @pytest.mark.parametrize(
        ("point", "expected", "source"),
        [
            ((5, 3), 3, "beside it, by hand"),
            ((-3, 4), 5, "before its start, 3-4-5"),
            ((13, -4), 5, "past its end, 3-4-5"),
            ((10, 0), 0, "on its end"),
        ],
    )
    def test_it_is_that_to_the_nearest_point_of_the_straight(self, point, expected, source):
        assert distance(point, (0, 0), (10, 0)) == pytest.approx(expected), source

    def test_it_is_alike_for_a_straight_that_lies_aslant(self):
        ends = [(2.0, 1.0), (8.0, 9.0)]
        for point in [(0.0, 0.0), (6.0, 2.0), (5.0, 5.0), (9.0, 12.0), (3.0, 7.0)]:
            assert distance(point, *ends) == pytest.approx(distance_to_line(point, ends))

    def test_a_straight_without_length_is_a_point(self):
        assert distance((3, 4), (0, 0), (0, 0)) == 5
