"""What is advised for a rotor out of line: done to a distributor of four bodies, it aligns tip and terminal."""

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.timing.distributor.test_rotor_setting import as_measured, distributors, strokes_of
from timing.distributor import (
    CrankTrigger,
    DistributorError,
    DistributorTrigger,
    Part,
    PhasingKind,
    RemedyKind,
    rotor_advice,
    rotor_phasing,
)
from timing.errors import TimingError

# Four terminals, the first cap of the handbook: radius 20, tip 7, terminal 4, gap 0.7 mm; the range of its worked car.
FOUR = rotor_phasing(4, 8, 40, 20, 7, 4, 0.7)
BASE = DistributorTrigger(8, 0)
kinds = st.sampled_from([RemedyKind.MOVE_PLATE, RemedyKind.REINDEX_ROTOR, RemedyKind.SET_EDGE])


def the(advice, kind):
    [remedy] = [remedy for remedy in advice.remedies if remedy.kind is kind]
    return remedy


def done_to(bodies, remedy):
    for move in remedy.moves:
        bodies = bodies.moved(move.part.value, move.dist_deg)
    return bodies


def range_of(strokes, lowest, width):
    return rotor_phasing(4, lowest, lowest + width, 20, 7, 4, 0.7, strokes=strokes)


class TestFourBodies:
    @given(distributors, kinds, st.floats(-20, 40), st.floats(0, 20))
    def test_a_remedy_done_to_the_bodies_puts_tip_and_post_in_line_in_the_middle(self, bodies, kind, lowest, width):
        phasing = range_of(strokes_of(bodies), lowest, width)
        advice = rotor_advice(phasing, as_measured(bodies), unit_takes_edge=True)
        assume(advice.phasing.kind is PhasingKind.OUT_OF_LINE)
        remedy = the(advice, kind)
        after = done_to(bodies, remedy)
        middle = lowest + width / 2
        assert after.tip_to_post(-middle) == pytest.approx(0, abs=1e-6), "four bodies"
        assert remedy.phasing.kind is PhasingKind.HOLDS
        for end in remedy.phasing.ends:
            assert end.offset_dist_deg == pytest.approx(after.tip_to_post(-end.spark_deg), abs=1e-6), "four bodies"
        edge_moved = math.remainder(after.opens_at() - bodies.opens_at(), 360 * bodies.crank_turns)
        told = remedy.setting.edge_deg - as_measured(bodies).edge_deg
        assert math.remainder(told - edge_moved, 360 * bodies.crank_turns) == pytest.approx(0, abs=1e-6)
        if kind is not RemedyKind.SET_EDGE:
            assert edge_moved == pytest.approx(0, abs=1e-6), "base timing stays where it was"

    @given(distributors, st.sampled_from([RemedyKind.SET_BODY, RemedyKind.REINDEX_ROTOR]), st.floats(-20, 40))
    def test_so_it_does_where_the_distributor_triggers_nothing(self, bodies, kind, lowest):
        strokes = strokes_of(bodies)
        advice = rotor_advice(range_of(strokes, lowest, 20), CrankTrigger(bodies.in_line_at(), strokes))
        assume(advice.phasing.kind is PhasingKind.OUT_OF_LINE)
        after = done_to(bodies, the(advice, kind))
        assert after.tip_to_post(-(lowest + 10)) == pytest.approx(0, abs=1e-6), "four bodies"

    @given(distributors, st.floats(-20, 40), st.floats(0, 100), st.booleans())
    def test_what_holds_in_the_picture_before_holds_under_the_cap(self, bodies, lowest, width, triggers):
        strokes = strokes_of(bodies)
        assume(lowest + width <= 90)
        setting = as_measured(bodies) if triggers else CrankTrigger(bodies.in_line_at(), strokes)
        advice = rotor_advice(range_of(strokes, lowest, width), setting)
        for end in advice.phasing.ends:
            assert math.remainder(end.offset_dist_deg - bodies.tip_to_post(-end.spark_deg), 360) == pytest.approx(
                0, abs=1e-6
            ), "four bodies"
        for remedy in advice.remedies:
            assert remedy.phasing.kind is PhasingKind.HOLDS
            for end in remedy.phasing.ends:
                assert math.remainder(
                    end.offset_dist_deg - done_to(bodies, remedy).tip_to_post(-end.spark_deg), 360
                ) == pytest.approx(0, abs=1e-6), "four bodies"


class TestWorkedCar:
    def test_the_plate_goes_8_degrees_with_the_turn_and_the_body_back(self):
        plate, body = the(rotor_advice(FOUR, BASE), RemedyKind.MOVE_PLATE).moves
        assert (plate.part, plate.dist_deg) == (Part.PLATE, 8), "handbook 7, worked"
        assert (body.part, body.dist_deg) == (Part.BODY, -8), "handbook 7, worked"

    def test_before_and_after_are_the_two_rows_of_the_table(self):
        advice = rotor_advice(FOUR, BASE)
        assert advice.phasing.highest.overlap_mm == pytest.approx(-0.0851, abs=5e-5), "handbook 7, row 2"
        after = the(advice, RemedyKind.MOVE_PLATE)
        assert [end.overlap_mm for end in after.phasing.ends] == pytest.approx([2.7075] * 2, abs=5e-5), "row 1"
        assert after.setting == DistributorTrigger(8, -8), "handbook 7, worked"
        assert after.amount_dist_deg == 8

    def test_the_rotor_is_re_indexed_with_its_turn(self):
        # To be at its terminal for an earlier spark the tip must be further on; the four bodies above say so too.
        [move] = the(rotor_advice(FOUR, BASE), RemedyKind.REINDEX_ROTOR).moves
        assert (move.part, move.dist_deg) == (Part.ROTOR, 8)
        assert move.amount_mm == pytest.approx(2.7925, abs=5e-5), "handbook 7: 8 degrees at the tip, row 1"

    def test_set_elsewhere_the_edge_moves_with_the_line_by_the_same_crank_degrees(self):
        remedy = the(rotor_advice(FOUR, BASE, unit_takes_edge=True), RemedyKind.SET_EDGE)
        assert remedy.setting == DistributorTrigger(24, 0), "handbook 7: 16 crank degrees"
        assert [(move.part, move.dist_deg) for move in remedy.moves] == [(Part.BODY, -8)]

    def test_the_range_that_serves_as_it_is_set_is_named(self):
        remedy = the(rotor_advice(FOUR, BASE), RemedyKind.NARROW_RANGE)
        # (11/2 - 1) mm at radius 20 is 12.89 distributor degrees: 25.78 of crank above 8.
        assert [end.spark_deg for end in remedy.phasing.ends] == [8, 33], "by hand"
        assert (remedy.moves, remedy.amount_dist_deg) == ((), 0)
        assert remedy.setting == BASE

    def test_a_rotor_out_the_other_way_is_moved_the_other_way(self):
        plate, body = the(rotor_advice(FOUR, DistributorTrigger(40, 0)), RemedyKind.MOVE_PLATE).moves
        assert (plate.dist_deg, body.dist_deg) == (-8, 8)

    def test_two_stroke_degrees_are_not_halved(self):
        phasing = rotor_phasing(4, 16, 32, 20, 7, 4, 0.7, strokes=2)
        plate, _ = the(rotor_advice(phasing, DistributorTrigger(10, 0, strokes=2)), RemedyKind.MOVE_PLATE).moves
        assert plate.dist_deg == 14, "handbook 2: k = 1"


class TestOrder:
    @pytest.mark.parametrize(
        ("options", "kinds"),
        [
            ({"unit_takes_edge": True}, ["move_plate", "reindex_rotor", "set_edge", "narrow_range"]),
            ({}, ["move_plate", "reindex_rotor", "narrow_range"]),
            ({"plate_moves": False}, ["reindex_rotor", "narrow_range"]),
        ],
    )
    def test_remedies_come_in_the_handbook_s_order_as_far_as_they_can_be_done(self, options, kinds):
        assert [remedy.kind for remedy in rotor_advice(FOUR, BASE, **options).remedies] == kinds, "handbook 7, remedy"

    def test_a_distributor_that_triggers_nothing_has_its_body_set(self):
        advice = rotor_advice(FOUR, CrankTrigger(8), unit_takes_edge=True)
        assert [remedy.kind for remedy in advice.remedies] == ["set_body", "reindex_rotor", "narrow_range"]
        assert [(move.part, move.dist_deg) for move in advice.remedies[0].moves] == [(Part.BODY, -8)]
        assert advice.remedies[0].setting == CrankTrigger(24)

    def test_what_holds_needs_no_remedy(self):
        assert rotor_advice(FOUR, DistributorTrigger(8, -8)).remedies == ()

    def test_a_range_too_wide_is_brought_into_line_and_narrowed(self):
        wide = rotor_phasing(4, 0, 60, 20, 7, 4, 0.7)
        remedy = the(rotor_advice(wide, BASE), RemedyKind.MOVE_PLATE)
        # 51.57 degrees of crank about 30, as by hand in test_phasing: 4.2 to 55.8.
        assert [end.spark_deg for end in remedy.phasing.ends] == [5, 55]
        assert remedy.phasing.aligned_at_deg == 30

    def test_in_line_already_only_the_range_is_narrowed(self):
        wide = rotor_phasing(4, 0, 60, 20, 7, 4, 0.7)
        assert [r.kind for r in rotor_advice(wide, DistributorTrigger(30, 0)).remedies] == [RemedyKind.NARROW_RANGE]

    @pytest.mark.parametrize("setting", [CrankTrigger(300), DistributorTrigger(8, 60)])
    def test_a_rotor_that_serves_no_part_of_the_range_cannot_be_helped_by_narrowing_it(self, setting):
        kinds = [remedy.kind for remedy in rotor_advice(FOUR, setting).remedies]
        assert kinds
        assert RemedyKind.NARROW_RANGE not in kinds

    def test_a_rotor_that_fits_nowhere_has_no_remedy(self):
        never = rotor_phasing(4, 8, 40, 20, 7, 4, 0.7, least_overlap_mm=6)
        assert rotor_advice(never, BASE).remedies == ()


class TestNotes:
    def test_a_spark_earlier_than_the_edge_is_a_note_and_not_a_refusal(self):
        early = rotor_advice(FOUR, DistributorTrigger(8, -8))
        assert early.phasing.kind is PhasingKind.HOLDS
        assert any("the edge before, at 188° BTDC" in note for note in early.notes), "handbook 7; 2: 180 degrees apart"

    @pytest.mark.parametrize(("edge", "noted"), [(39.9, True), (40, False), (60, False)])
    def test_a_spark_at_the_edge_is_timed_from_it(self, edge, noted):
        advice = rotor_advice(FOUR, DistributorTrigger(edge, (edge - 24) / 2))
        assert any("edge before" in note for note in advice.notes) is noted

    def test_each_remedy_has_the_note_of_its_own_edge(self):
        advice = rotor_advice(rotor_phasing(4, 8, 24, 20, 7, 4, 0.7), DistributorTrigger(50, 0), unit_takes_edge=True)
        notes = {remedy.kind: remedy.notes for remedy in advice.remedies}
        assert notes[RemedyKind.MOVE_PLATE] == (), "24 is below the edge at 50"
        assert len(notes[RemedyKind.SET_EDGE]) == 1, "the edge goes to 16, below 24"

    def test_a_trigger_on_the_crank_has_words_of_its_own_and_no_edge(self):
        here, away = rotor_advice(FOUR, BASE).notes, rotor_advice(FOUR, CrankTrigger(8)).notes
        assert not set(here) & set(away)


@pytest.mark.parametrize("setting", [BASE, DistributorTrigger(100, 9.6), CrankTrigger(8)])
@pytest.mark.parametrize("clockwise", [None, True, False])
def test_no_sentence_is_longer_than_twenty_words(setting, clockwise):
    advice = rotor_advice(FOUR, setting, rotor_clockwise=clockwise, rim_radius_mm=40, unit_takes_edge=True)
    said = [*advice.notes, *advice.phasing.sentences]
    said += [text for remedy in advice.remedies for text in (*remedy.sentences, *remedy.notes)]
    assert said
    for text in said:
        assert all(len(sentence.split()) <= 20 for sentence in text.split(". ")), text


def test_a_radius_at_the_rim_gives_the_millimetres_there():
    plate, body = the(rotor_advice(FOUR, BASE, rim_radius_mm=45), RemedyKind.MOVE_PLATE).moves
    assert plate.amount_mm == body.amount_mm == pytest.approx(2 * math.pi * 45 * 8 / 360), "share of the rim"


def test_every_end_after_a_remedy_is_within_the_range_that_was_asked():
    for lowest, highest in pairwise([-60, -20, 8, 40, 90]):
        for remedy in rotor_advice(rotor_phasing(4, lowest, highest, 20, 7, 4, 0.7), BASE).remedies:
            low, high = (end.spark_deg for end in remedy.phasing.ends)
            assert lowest <= low < high <= highest


@pytest.mark.parametrize(
    ("call", "error", "message"),
    [
        (
            lambda: rotor_advice(FOUR, DistributorTrigger(8, 0, strokes=2)),
            DistributorError,
            "the rotor's setting has 1 crank turns a turn, its cap 2",
        ),
        (lambda: rotor_advice(FOUR, BASE, rim_radius_mm=0), TimingError, "the radius of the rim must be above 0 mm"),
    ],
)
def test_what_does_not_go_together_is_refused(call, error, message):
    with pytest.raises(error, match=f"^{message}"):
        call()
