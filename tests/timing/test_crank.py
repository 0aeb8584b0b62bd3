"""Angles, times, the degree tape and the piston stop, held against printed tables, pint, scipy and plain geometry."""

import math

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import circmean

from tests.timing.published import rows
from timing.crank import (
    CrankError,
    crank_from_distributor,
    dead_centre_from_stop,
    degrees_to_seconds,
    firing_angle,
    tape_length,
)
from timing.errors import TimingError

PINT = pint.UnitRegistry(cache_folder=None)

# ---- Time between sparks ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "row",
    rows("firing_interval.csv"),
    ids=lambda row: f"{row['strokes']:.0f}-stroke, {row['cylinders']:.0f} cylinders, {row['rpm']:.0f} rpm",
)
def test_the_firing_interval_of_the_table(row):
    strokes, cylinders, rpm = int(row["strokes"]), int(row["cylinders"]), row["rpm"]
    angle = firing_angle(cylinders, strokes)
    assert angle == row["interval_crank_deg"]
    assert degrees_to_seconds(angle, rpm=rpm) * 1000 == pytest.approx(row["interval_ms"], abs=5e-6)
    assert degrees_to_seconds(1, rpm=rpm) * 1e6 == pytest.approx(row["microseconds_per_crank_deg"], abs=5e-5)


def test_the_interval_is_the_one_pint_finds_from_turns_and_minutes():
    turns = PINT.Quantity(720 / 6, "degree")
    expected = (turns / PINT.Quantity(3333, "revolution/minute")).to("second").magnitude
    assert degrees_to_seconds(firing_angle(6), rpm=3333) == pytest.approx(expected, rel=1e-12), "pint"


@pytest.mark.parametrize(
    ("cylinders", "degrees", "source"),
    [
        (4, 180, "US Army TM 9-8000, Principles of Automotive Vehicles, page 2-18: one power stroke every 180 degrees"),
        (8, 90, "geekdiymechanic.com, Engine configurations: 720/8"),
        (1, 720, "the same page: 720 degrees between power strokes"),
    ],
)
def test_power_strokes_come_as_far_apart_as_printed(cylinders, degrees, source):
    assert firing_angle(cylinders) == degrees, source


@pytest.mark.parametrize(
    ("cylinders", "rpm", "milliseconds", "source"),
    [
        (4, 5000, 6, "ignitioncarsystem.wixsite.com, Cam dwell angle: 167 sparks a second, 6 ms between them"),
        (6, 5000, 4, "the same page: 250 sparks a second, 4 ms"),
        (4, 2000, 15, "cdxetextbook.com, Dwell angle: 4000 sparks a minute at 2000 rpm"),
    ],
)
def test_sparks_come_as_often_as_printed(cylinders, rpm, milliseconds, source):
    assert degrees_to_seconds(firing_angle(cylinders), rpm=rpm) * 1000 == pytest.approx(milliseconds), source


@pytest.mark.parametrize(
    ("cylinders", "dist_deg", "share", "source"),
    [
        (4, 45, 0.50, "de.zxc.wiki/wiki/Schließwinkel: 45 degrees of 90 are 50 per cent"),
        (4, 50, 0.56, "the same page: 50 degrees are about 56 per cent"),
        (4, 60, 2 / 3, "ignitioncarsystem.wixsite.com, Cam dwell angle: points closed 60 and open 30 degrees"),
        (6, 35, 0.58, "the same page: closed 35 and open 25 degrees, 58 per cent"),
    ],
)
def test_a_dwell_angle_is_as_much_of_the_interval_as_printed(cylinders, dist_deg, share, source):
    of_interval = crank_from_distributor(dist_deg) / firing_angle(cylinders)
    assert of_interval == pytest.approx(share, abs=0.005), source


def test_a_dwell_of_60_degrees_at_5000_rpm_takes_4_milliseconds():
    # ignitioncarsystem.wixsite.com, Cam dwell angle: two thirds of 6 ms.
    assert degrees_to_seconds(crank_from_distributor(60), rpm=5000) == pytest.approx(0.004)


def test_many_engines_and_speeds_at_once():
    table = degrees_to_seconds(firing_angle(np.array([[4], [8]])), rpm=[800, 6000])
    assert table.tolist() == [[0.0375, 0.005], [0.01875, 0.0025]], "handbook section 2"
    assert type(firing_angle(4)) is float
    assert type(degrees_to_seconds(180, rpm=800)) is float


def test_an_engine_is_four_stroke_unless_it_is_said():
    assert firing_angle(4) == firing_angle(4, 4) == 2 * firing_angle(4, strokes=2)


@pytest.mark.parametrize("rpm", [0, -1, float("nan"), float("inf"), [1000, 0]])
def test_an_engine_that_does_not_turn_has_no_interval(rpm):
    with pytest.raises(TimingError, match=r"^engine speed must be"):
        degrees_to_seconds(180, rpm=rpm)


@pytest.mark.parametrize("cylinders", [0, -4, 25, float("nan")])
def test_no_engine_has_so_many_cylinders(cylinders):
    with pytest.raises(TimingError, match=r"^the number of cylinders must be"):
        firing_angle(cylinders)


def test_the_most_cylinders_are_still_counted():
    assert firing_angle([1, 24]).tolist() == [720.0, 30.0]


def test_cylinders_are_counted_whole():
    with pytest.raises(CrankError, match=r"^cylinders are counted whole, not 4\.5"):
        firing_angle([4, 4.5])


@pytest.mark.parametrize("strokes", [0, 1, 3, 8])
def test_an_engine_has_two_strokes_or_four(strokes):
    with pytest.raises(CrankError, match=f"two strokes or four, not {strokes}"):
        firing_angle(4, strokes)


# ---- Angle and time --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("degrees", "rpm", "milliseconds", "source"),
    [
        (1, 1000, 0.1666667, "handbook section 2: 166.667 us"),
        (10, 1000, 1.6666667, "by hand: 6000 degrees in a second"),
        (360, 60, 1000, "one turn a second"),
        (-10, 2000, -0.8333333, "an angle after the event, by hand"),
        (0, 500, 0, "no angle takes no time"),
    ],
)
def test_how_long_an_angle_takes(degrees, rpm, milliseconds, source):
    assert degrees_to_seconds(degrees, rpm=rpm) * 1000 == pytest.approx(milliseconds, rel=1e-6), source


def test_figures_that_do_not_pair_are_refused():
    with pytest.raises(TimingError, match=r"^angles and speeds do not go together: there are 2 and 3 of them"):
        degrees_to_seconds([1, 2], rpm=[1000, 2000, 3000])


def test_a_time_beyond_all_numbers_is_refused_and_not_infinite():
    with pytest.raises(CrankError, match=r"^that time is too large to be a number"):
        degrees_to_seconds(1e10, rpm=1e-310)


# ---- Distributor -----------------------------------------------------------------------------------------------------


def test_the_distributor_of_a_four_stroke_turns_at_half_speed():
    assert crank_from_distributor(12.5) == 25.0
    assert crank_from_distributor([0, 12.5, -2]).tolist() == [0.0, 25.0, -4.0]


def test_the_distributor_of_a_two_stroke_turns_with_the_crank():
    assert crank_from_distributor(12.5, 2) == 12.5


def test_a_distributor_figure_is_a_number():
    with pytest.raises(TimingError, match=r"^an angle must be a finite number"):
        crank_from_distributor([1, float("nan")])
    with pytest.raises(CrankError, match=r"^that angle is too large"):
        crank_from_distributor(1.5e308)
    with pytest.raises(CrankError, match=r"^an engine has two strokes or four, not 3"):
        crank_from_distributor(1, 3)


# ---- Degree tape -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("diameter", "per_degree"), [(120, 1.047198), (150, 1.308997), (165, 1.439897), (180, 1.570796)]
)
def test_the_length_of_a_degree_on_the_tape(diameter, per_degree):
    assert tape_length(diameter, 1) == pytest.approx(per_degree, abs=5e-7), "handbook section 2, computed"


def test_a_tape_is_an_arc_and_not_a_chord():
    chord = 150 * math.sin(math.radians(5))
    assert chord == pytest.approx(13.07336, abs=5e-6), "handbook section 2"
    assert tape_length(150, 10) == pytest.approx(13.08997, abs=5e-6), "handbook section 2"


def test_a_whole_turn_of_tape_is_the_circumference_it_lies_on():
    assert tape_length(150, 360) == pytest.approx(math.pi * 150)
    assert tape_length(150, 360, thickness_mm=0.2) == pytest.approx(math.pi * 150.2), (
        "its middle lies 0.1 mm out all round; handbook section 2"
    )


def test_marks_after_top_dead_centre_lie_on_the_other_side():
    assert tape_length(150, [-10, 10]).tolist() == [-tape_length(150, 10), tape_length(150, 10)]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((0, 10), "the pulley's diameter must be above 0 mm, not 0"),
        ((-5, 10), "the pulley's diameter must be above 0 mm, not -5"),
        ((150, float("nan")), "an angle must be a finite number"),
        ((150, 10, -0.1), "the thickness of the tape must be 0 mm or more"),
        ((1e300, 1e300), "that length is too large"),
        (([100, 150], [1, 2, 3]), "diameters and angles do not go together"),
    ],
)
def test_a_tape_that_cannot_be_made_is_refused(arguments, said):
    with pytest.raises(TimingError, match=f"^{said}"):
        tape_length(*arguments)


# ---- Piston stop -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("first", "second", "expected", "source"),
    [
        (-30, 34, 2, "middle of two signed readings, by hand"),
        (34, -30, 2, "the same, the other way round"),
        (330, 34, 2, "the same on a wheel marked to 360"),
        (350, 14, 2, "across the zero, by hand"),
        (20, 80, 50, "wheel set anywhere, by hand"),
        (170, 200, -175, "on the far side of the wheel, by hand"),
        (-40, 40, 0, "wheel already on zero"),
        (160, 200, 180, "half a turn out: 180 and not -180"),
        (-11.32859, 11.32859, 0, "piston_stop_offset.csv, no offset"),
        (-80, 80, 0, "the deepest stop accepted"),
        (-5, 5, 0, "the shallowest stop accepted"),
        (355, 365, 0, "a wheel counted past 360"),
    ],
)
def test_top_dead_centre_lies_between_the_readings(first, second, expected, source):
    assert dead_centre_from_stop(first, second) == pytest.approx(expected, abs=1e-9), source


@given(st.floats(-180, 180), st.floats(5.01, 79.99), st.integers(-2, 2), st.integers(-2, 2))
def test_top_dead_centre_is_the_circular_mean(centre, reach, turns, more_turns):
    first, second = centre - reach + 360 * turns, centre + reach + 360 * more_turns
    found = dead_centre_from_stop(first, second)
    expected = circmean([first, second], high=180, low=-180)
    assert math.remainder(found - expected, 360) == pytest.approx(0, abs=1e-9), "scipy.stats.circmean"
    assert -180 < found <= 180
    assert dead_centre_from_stop(second, first) == pytest.approx(found, abs=1e-9) or abs(abs(found) - 180) < 1e-9


def test_an_error_in_the_readings_is_halved():
    """The middle moves by half of what one reading is out; over both, the square root of two (handbook section 2)."""
    assert dead_centre_from_stop(-30 + 1, 30) == pytest.approx(0.5)


@pytest.mark.parametrize(("first", "second"), [(-4.9, 5.0), (10, 10), (355, 4.9), (0, 360)])
def test_a_shallow_stop_is_refused(first, second):
    with pytest.raises(CrankError, match=r"degrees apart, less than 10: the stop is too shallow"):
        dead_centre_from_stop(first, second)


@pytest.mark.parametrize(("first", "second"), [(-80.1, 80), (0, 180), (90, -90)])
def test_a_deep_stop_is_refused(first, second):
    with pytest.raises(CrankError, match=r"degrees apart, more than 160: the stop is too deep"):
        dead_centre_from_stop(first, second)


def test_the_limits_of_the_stop_are_the_workshops():
    assert dead_centre_from_stop(-2, 2, shallowest_deg=4) == 0
    assert dead_centre_from_stop(-85, 85, deepest_deg=170) == 0
    with pytest.raises(CrankError, match=r"^the readings are 20 degrees apart, less than 30"):
        dead_centre_from_stop(-10, 10, shallowest_deg=30)
    with pytest.raises(TimingError, match=r"^the most angle between two readings must be 180 degrees or less"):
        dead_centre_from_stop(-10, 10, deepest_deg=181)


def test_the_same_reading_twice_tells_nothing_whatever_the_limit():
    with pytest.raises(CrankError, match=r"^the readings are 0 degrees apart"):
        dead_centre_from_stop([-20, 30], [20, 30], shallowest_deg=0)
    with pytest.raises(CrankError, match=r"^the readings are 0 degrees apart"):
        dead_centre_from_stop(30, 30, shallowest_deg=0)


def test_a_dead_centre_a_hair_from_half_a_turn_is_counted_above_minus_180():
    assert dead_centre_from_stop(174.0, 186.00000000000006) == 180.0


def test_several_stops_at_once():
    assert dead_centre_from_stop([-30, 340], [34, 16]).tolist() == pytest.approx([2, -2])
    with pytest.raises(TimingError, match=r"^the readings do not go together: there are 2 and 3 of them"):
        dead_centre_from_stop([-30, 340], [1, 2, 3])


def test_arguments_are_not_written_into():
    rpm, degrees = np.array([1000.0, 2000.0]), np.array([10.0, -20.0])
    degrees_to_seconds(degrees, rpm=rpm)
    tape_length(rpm, degrees)
    dead_centre_from_stop(degrees, degrees + 40)
    assert rpm.tolist() == [1000.0, 2000.0]
    assert degrees.tolist() == [10.0, -20.0]


# ---- What is said --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ask", "said"),
    [
        (lambda: firing_angle(0), "the number of cylinders must be 1 or more, not 0"),
        (lambda: firing_angle(25), "the number of cylinders must be 24 or less, not 25"),
        (lambda: firing_angle(4, "x"), "the number of strokes must be a number"),
        (lambda: degrees_to_seconds(1, rpm=0), "engine speed must be above 0 rpm, not 0"),
        (lambda: degrees_to_seconds("x", rpm=1), "an angle must be a number"),
        (lambda: crank_from_distributor("x"), "an angle must be a number"),
        (lambda: dead_centre_from_stop("x", 1), "the first reading must be a number"),
        (lambda: dead_centre_from_stop(1, "x"), "the second reading must be a number"),
        (
            lambda: dead_centre_from_stop(0, 40, shallowest_deg=-1),
            "the least angle between two readings must be 0 degrees or more, not -1",
        ),
        (
            lambda: dead_centre_from_stop(0, 40, deepest_deg=181),
            "the most angle between two readings must be 180 degrees or less, not 181",
        ),
        (
            lambda: dead_centre_from_stop(0, 9.5),
            "the readings are 9.5 degrees apart, less than 10: the stop is too shallow to tell top dead centre",
        ),
        (
            lambda: dead_centre_from_stop(0, 160.5),
            "the readings are 160.5 degrees apart, more than 160: the stop is too deep, or one reading is wrong",
        ),
    ],
)
def test_a_refusal_is_a_sentence_with_its_figures(ask, said):
    with pytest.raises(TimingError) as refusal:
        ask()
    assert str(refusal.value) == said
