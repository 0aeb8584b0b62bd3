"""Readings that look like a slip of the keyboard, asked about before they are saved."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.timing.published import rows
from timing.errors import TimingError
from timing.strobe import LampKind, SlipKind, StrobeError, doubtful_readings

S2 = [row for row in rows("strobe_readings.csv") if row["set"] == "S2"]
READ = [row["measured_deg"] for row in S2]
MAP = [row["map_deg"] for row in S2]


def test_distributor_degrees_typed_are_half_of_what_is_expected():
    found = doubtful_readings([degrees / 2 for degrees in MAP], MAP)
    assert found.kind is SlipKind.HALF, "handbook 2: a four-stroke's distributor turns at half the crank's speed"
    assert found.places == tuple(range(8))


@given(st.lists(st.floats(12, 40), min_size=1, max_size=10), st.floats(-1.9, 1.9))
def test_a_turned_sign_is_found_whatever_the_engine_is_off(expected, off):
    found = doubtful_readings([off - degrees for degrees in expected], expected)
    assert found.kind is SlipKind.SIGN_TURNED
    assert found.places == tuple(range(len(expected)))


@given(st.floats(9, 40), st.floats(-2, 2))
def test_a_dial_back_lamp_on_a_wasted_spark_shows_twice_the_advance(expected, off):
    assert doubtful_readings(2 * expected + off, expected).kind is SlipKind.TWICE


def test_readings_that_may_be_true_are_not_doubted():
    assert doubtful_readings(READ, MAP) is None, "handbook 5, set S2: 3.75 degrees late and nothing else"
    assert doubtful_readings(MAP, MAP) is None


@given(st.floats(9.1, 45), st.floats(-4, 4))
def test_nothing_within_four_degrees_of_a_large_advance_is_doubted(expected, off):
    assert doubtful_readings(expected + off, expected) is None


@given(st.floats(-10, 9.1), st.floats(-2, 2))
def test_nothing_within_two_degrees_of_a_small_advance_is_doubted(expected, off):
    assert doubtful_readings(expected + off, expected) is None


@pytest.mark.parametrize("base", [6, 7, 8, 9, 10, 12])
def test_distributor_degrees_are_asked_about_at_a_small_base_timing_too(base):
    """Handbook 2: 1 distributor degree is 2 crank degrees. Turned until half fits, 8 degrees become 16."""
    assert doubtful_readings([base / 2], [base]).kind is SlipKind.HALF


@pytest.mark.parametrize(
    ("seen", "asked"), [(1.9, False), (2, True), (4, True), (4.5, True), (4.6, False), (5, False), (8, False)]
)
def test_between_half_and_the_whole_of_a_small_base_timing_half_is_what_lies_within_half_a_degree(seen, asked):
    """5 of 8 is a distributor that is yet to be set, as well as any."""
    assert (doubtful_readings([seen], [8]) is not None) is asked


def test_an_advance_of_five_degrees_cannot_tell_half_from_whole():
    assert doubtful_readings([2.5], [5]) is None, "2.5 degrees off: an engine yet to be set may be"
    assert doubtful_readings([2.6], [5.2]).kind is SlipKind.HALF


def test_all_that_can_tell_must_look_alike():
    assert doubtful_readings([12, 24], [24, 24]) is None
    half_of_one = doubtful_readings([2, 12, 13], [4, 24, 26])
    assert (half_of_one.kind, half_of_one.places) == (SlipKind.HALF, (1, 2)), "4 degrees cannot tell"


@pytest.mark.parametrize(
    ("near", "seen", "found"), [(2, 10, True), (2, 9.99, False), (2, 14, True), (2, 14.01, False), (1, 14, False)]
)
def test_near_to_half_means_within_so_many_degrees(near, seen, found):
    assert (doubtful_readings([seen], [24], near_deg=near) is not None) is found


def test_one_expected_figure_stands_for_all_readings():
    assert doubtful_readings([5, 5.5], 10) == doubtful_readings([5, 5.5], [10, 10])


@pytest.mark.parametrize(
    ("arguments", "options", "question"),
    [
        (
            (12, 24),
            {},
            "The reading, 12°, is about half of the 24.0° expected. Are these distributor degrees? "
            "Enter crank degrees.",
        ),
        (
            ([12, 14], [24, 28]),
            {},
            "2 readings are about half of what is expected. Are these distributor degrees? Enter crank degrees.",
        ),
        (
            (-10, 10),
            {},
            "The reading, -10°, is about minus the 10.0° expected. Is the sign turned? Before top dead centre is plus.",
        ),
        (
            (20, 10),
            {"wasted_spark": True, "lamp": LampKind.DIAL_BACK},
            "The reading, 20°, is about twice the 10.0° expected. A dial-back lamp shows that on a wasted spark: enter "
            "half.",
        ),
        (
            (20, 10),
            {"wasted_spark": True, "lamp": LampKind.PLAIN},
            "The reading, 20°, is about twice the 10.0° expected. Was the figure doubled? Enter what the scale shows.",
        ),
        (
            (20, 10),
            {"lamp": LampKind.DIAL_BACK},
            "The reading, 20°, is about twice the 10.0° expected. Was the figure doubled? Enter what the scale shows.",
        ),
    ],
)
def test_the_question_names_the_slip(arguments, options, question):
    assert doubtful_readings(*arguments, **options).question == question


@pytest.mark.parametrize(
    ("arguments", "options", "message"),
    [
        (([], []), {}, "readings must be a list of measured advances, at least one"),
        (([[10]], [[10]]), {}, "readings must be a list of measured advances"),
        (([10, 11], [10]), {}, "2 measured advances but 1 expected"),
        (([math.nan], [10]), {}, "a measured advance must be a finite number"),
        (([10], [200]), {}, "an expected advance must be 180 degrees or less, not 200"),
        (([10], [10]), {"near_deg": 0}, "how near a reading must be must be above 0 degrees, not 0"),
    ],
)
def test_what_is_no_reading_is_refused(arguments, options, message):
    with pytest.raises(TimingError, match=f"^{message}"):
        doubtful_readings(*arguments, **options)


def test_the_refusal_is_that_of_a_strobe_session():
    with pytest.raises(StrobeError):
        doubtful_readings([], [])


def test_kinds_of_slip_and_lamp_are_words_that_may_be_stored():
    assert [kind.value for kind in SlipKind] == ["half", "sign_turned", "twice"]
    assert [kind.value for kind in LampKind] == ["plain", "dial_back"]
