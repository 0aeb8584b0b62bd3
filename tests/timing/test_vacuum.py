"""Vacuum ramp, vacuum table and boost retard: handbook values, numpy, scipy and figures worked by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import RegularGridInterpolator

from tests.timing.published import rows
from timing.errors import TimingError
from timing.vacuum import BoostRetard, VacuumError, VacuumRamp, VacuumTable

# ---- Ramp ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("vacuum", "expected"), [(10, 0), (20, 14 / 3), (25, 7), (40, 14), (60, 14)])
def test_the_ramp_of_the_handbook(vacuum, expected):
    ramp = VacuumRamp(start=10, full=40, full_deg=14)
    assert ramp.advance(vacuum=vacuum) == pytest.approx(expected, abs=1e-9), "handbook section 4, computed"
    assert ramp.advance(vacuum=vacuum, rpm=3000) == ramp.advance(vacuum=vacuum)


def test_boost_adds_nothing():
    assert VacuumRamp(0, 40, 14).advance(vacuum=[-50, -0.1, 0]).tolist() == [0, 0, 0]


def test_a_ramp_acts_from_its_lowest_speed_on_that_speed_included():
    ramp = VacuumRamp(10, 40, 14, from_rpm=1200)
    assert ramp.advance(vacuum=40, rpm=[0, 1199.999, 1200, 6000]).tolist() == [0, 0, 14, 14]
    assert ramp.advance(vacuum=[[25], [60]], rpm=[1000, 2000]).tolist() == [[0, 7], [0, 14]]


def test_a_ramp_that_depends_on_the_speed_must_be_told_it():
    with pytest.raises(
        VacuumError, match=r"^this vacuum advance acts from 1200 rpm on: it cannot be told without the speed"
    ):
        VacuumRamp(10, 40, 14, from_rpm=1200).advance(vacuum=25)


@given(st.lists(st.floats(-100, 110), min_size=2, max_size=20).map(sorted))
def test_more_vacuum_never_gives_less_advance(vacua):
    advances = VacuumRamp(10, 40, 14).advance(vacuum=vacua)
    assert (np.diff(advances) >= 0).all()
    assert advances.min() >= 0
    assert advances.max() <= 14


@pytest.mark.parametrize(
    ("figures", "said"),
    [
        ((40, 10, 14), "vacuum advance begins at 40 kPa but is full at 10 kPa: it must be full later"),
        ((10, 10, 14), "vacuum advance begins at 10 kPa but is full at 10 kPa"),
        ((-1, 40, 14), "the vacuum where the advance begins must be 0 kPa or more, not -1"),
        ((10, 400, 14), "the vacuum of full advance must be 110 kPa or less, not 400"),
        ((10, 40, -1), "full vacuum advance must be 0 degrees or more, not -1"),
        ((10, 40, 90.5), r"full vacuum advance must be 90 degrees or less, not 90\.5"),
        ((10, 40, 14, -1), "the lowest speed of the vacuum advance must be 0 rpm or more"),
        ((10, 40, float("nan")), "full vacuum advance must be a finite number"),
        (("ten", 40, 14), "the vacuum where the advance begins must be a number"),
        (([10, 20], 40, 14), "the vacuum where the advance begins must be one number"),
    ],
)
def test_a_ramp_no_capsule_follows_is_refused(figures, said):
    with pytest.raises(TimingError, match=f"^{said}"):
        VacuumRamp(*figures)


def test_the_widest_ramp_there_can_be():
    assert VacuumRamp(0, 110, 90).advance(vacuum=55) == 45
    assert VacuumRamp(0, 40, 0).advance(vacuum=40) == 0


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"vacuum": float("nan")}, "vacuum must be a finite number"),
        ({"vacuum": 10, "rpm": -1}, "engine speed must be 0 rpm or more, not -1"),
        ({"vacuum": [1, 2], "rpm": [1, 2, 3]}, "vacuum and speeds do not go together: there are 2 and 3 of them"),
    ],
)
def test_a_ramp_is_asked_for_figures(arguments, said):
    with pytest.raises(TimingError, match=f"^{said}"):
        VacuumRamp(10, 40, 14).advance(**arguments)


def test_equal_ramps_are_equal_and_plain_floats_inside():
    ramp = VacuumRamp(np.int64(10), np.float64(40), 14)
    assert ramp == VacuumRamp(10.0, 40.0, 14.0, 0.0)
    assert hash(ramp) == hash(VacuumRamp(10, 40, 14))
    assert {type(figure) for figure in (ramp.start, ramp.full, ramp.full_deg, ramp.from_rpm)} == {float}
    assert type(ramp.advance(vacuum=25)) is float
    assert ramp != VacuumRamp(10, 40, 14, 800)


# ---- Table -----------------------------------------------------------------------------------------------------------

TABLE = VacuumTable(rpm=[800, 2000, 3500], vacuum=[0, 20, 50], degrees=[[0, 0, 0], [2, 6, 8], [4, 12, 16]])


@pytest.mark.parametrize(
    ("vacuum", "rpm", "expected", "source"),
    [
        (20, 2000, 6, "a node"),
        (50, 3500, 16, "the last node"),
        (20, 1400, 4, "half way between 2 and 6"),
        (35, 800, 3, "half way between 2 and 4"),
        (35, 1400, 6, "the mean of 2, 6, 4 and 12"),
        (10, 500, 1, "below the first speed: held"),
        (90, 6000, 16, "beyond both ends: held"),
        (-40, 2000, 0, "boost: held at the first row"),
    ],
)
def test_a_table_is_bilinear_and_held_at_its_edges(vacuum, rpm, expected, source):
    assert TABLE.advance(vacuum=vacuum, rpm=rpm) == pytest.approx(expected, abs=1e-12), f"by hand: {source}"


def test_a_table_takes_vacuum_first_and_then_speed():
    assert TABLE.advance(vacuum=50, rpm=800) == TABLE.advance(vacuum=50, rpm=800) == 4


@given(st.floats(0, 50), st.floats(800, 3500))
def test_a_table_is_what_scipy_interpolates(vacuum, rpm):
    expected = RegularGridInterpolator((TABLE.vacuum, TABLE.rpm), np.array(TABLE.degrees))((vacuum, rpm))
    assert TABLE.advance(vacuum=vacuum, rpm=rpm) == pytest.approx(float(expected), abs=1e-9), "scipy"


def test_a_table_may_have_rows_of_boost_that_retard():
    table = VacuumTable(rpm=[1000, 2000], vacuum=[-50, 0, 50], degrees=[[-10, -10], [0, 0], [8, 8]])
    assert table.advance(vacuum=[-50, -25, 25], rpm=1500).tolist() == pytest.approx([-10, -5, 4])


def test_equal_tables_are_equal_and_may_be_keys():
    again = VacuumTable(rpm=np.array([800, 2000, 3500]), vacuum=(0, 20, 50), degrees=np.array(TABLE.degrees))
    assert again == TABLE
    assert hash(again) == hash(TABLE)
    assert again != VacuumTable(rpm=[800, 2000, 3500], vacuum=[0, 20, 50], degrees=[[0, 0, 0], [2, 6, 8], [4, 12, 17]])
    assert TABLE.degrees == ((0.0, 0.0, 0.0), (2.0, 6.0, 8.0), (4.0, 12.0, 16.0))
    assert "degrees=" in repr(TABLE)
    assert "_grid" not in repr(TABLE)


@pytest.mark.parametrize(
    ("rpm", "vacuum", "degrees", "said"),
    [
        ([800, 2000], [0, 20], [[0, 0]], "the table needs 2 rows of vacuum and 2 columns of speed, not 1 by 2"),
        ([2000, 800], [0], [[0, 0]], "the speeds of a table must rise"),
        ([800], [20, 0], [[0], [0]], "the vacuum nodes of a table must rise, but 0 kPa comes after 20 kPa"),
        ([800], [111], [[0]], "a vacuum node must be 110 kPa or less, not 111"),
        ([800], [0], [[91]], "vacuum advance must be 90 degrees or less, not 91"),
        ([800], [0], [[-91]], "vacuum advance must be -90 degrees or more, not -91"),
        ([], [], [], "the speeds of a table must be a list of at least one figure"),
    ],
)
def test_a_table_that_cannot_be_is_refused(rpm, vacuum, degrees, said):
    with pytest.raises(TimingError, match=f"^{said}"):
        VacuumTable(rpm=rpm, vacuum=vacuum, degrees=degrees)


# ---- Boost -----------------------------------------------------------------------------------------------------------

BOOST = BoostRetard(boost=[10, 30, 60], degrees=[0, 4, 13])


@pytest.mark.parametrize(
    ("boost", "expected", "source"),
    [
        (-60, 0, "vacuum"),
        (0, 0, "no boost"),
        (10, 0, "where it begins"),
        (20, 2, "half way to 4"),
        (30, 4, "a node"),
        (45, 8.5, "half way between 4 and 13"),
        (60, 13, "the last node"),
        (100, 13, "above the last: held"),
    ],
)
def test_retard_under_boost_is_straight_between_nodes_and_held(boost, expected, source):
    assert BOOST.retard(boost) == pytest.approx(expected), f"by hand: {source}"


@pytest.mark.parametrize(
    ("boost", "degrees", "said"),
    [
        ([10, 30], [1, 4], "the retard begins at its first node, 10 kPa, with 0 degrees, not with 1"),
        ([10, 30, 60], [0, 4, 3], "the retard falls above 30 kPa of boost"),
        ([10, 30, 60], [0, 4, 3.9], "the retard falls above 30 kPa of boost"),
        ([10, 30, 60, 90], [0, 4, 3, 2], "the retard falls above 30 kPa of boost"),
        ([10, 30], [0, 4, 5], "a boost retard needs as many degrees as nodes, not 2 nodes and 3 degrees"),
        ([30, 10], [0, 4], "the boost nodes must rise, but 10 kPa comes after 30 kPa"),
        ([-1, 10], [0, 4], "boost must be 0 kPa or more, not -1"),
        ([0, 10], [0, -4], "retard under boost must be 0 degrees or more, not -4"),
        ([0, 10], [0, 91], "retard under boost must be 90 degrees or less, not 91"),
        ([], [], "the boost nodes must be a list of at least one figure"),
    ],
)
def test_a_retard_that_cannot_be_is_refused(boost, degrees, said):
    with pytest.raises(TimingError, match=f"^{said}"):
        BoostRetard(boost, degrees)


def test_a_retard_may_stay_level_and_equal_ones_are_equal():
    level = BoostRetard([0, 20, 40], [0, 5, 5])
    assert level.retard([30, 40]).tolist() == [5, 5]
    assert level == BoostRetard((0.0, 20.0, 40.0), np.array([0, 5, 5]))
    assert hash(level) == hash(BoostRetard([0, 20, 40], [0, 5, 5]))
    assert type(level.retard(10)) is float
    with pytest.raises(TimingError, match=r"^boost must be a finite number"):
        level.retard(float("nan"))


def listed(text):
    return [float(figure) for figure in str(text).split()]


@pytest.mark.parametrize(
    "row", rows("bilinear_scipy.csv"), ids=lambda row: f"{row['rpm']:g} rpm {row['vacuum_kpa']:g} kPa"
)
def test_a_table_is_scipys_interpolator_held_at_its_edges(row):
    cells = [listed(line) for line in row["table_deg"].split("/")]
    table = VacuumTable(rpm=listed(row["table_rpm"]), vacuum=listed(row["table_vacuum_kpa"]), degrees=cells)
    expected = pytest.approx(row["degrees"], abs=1e-8)
    assert table.advance(rpm=row["rpm"], vacuum=row["vacuum_kpa"]) == expected, "scipy RegularGridInterpolator"
