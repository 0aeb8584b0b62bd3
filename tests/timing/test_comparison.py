"""What changed from one map to another, in one sentence."""

from dataclasses import replace

import pytest

from timing.comparison import compare
from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

SPEEDS = [500, 1000, 2000, 2500, 3000, 4000]
BEFORE = IgnitionMap(8, AdvanceCurve(SPEEDS, [0, 4, 10, 14, 18, 20]), VacuumRamp(10, 40, 12), rev_limit_rpm=6000)


def with_degrees(*degrees: float) -> IgnitionMap:
    return replace(BEFORE, curve=AdvanceCurve(SPEEDS, degrees))


@pytest.mark.parametrize(
    ("after", "sentence"),
    [
        (BEFORE, "nothing changed"),
        (with_degrees(0, 4, 8, 12, 16, 20), "2 degrees out between 2000 and 3000 rpm, rest as before"),
        (with_degrees(0, 4, 10, 13, 18, 20), "1 degree out at 2500 rpm, rest as before"),
        (with_degrees(0, 4, 11, 16, 18, 20), "up to 2 degrees more between 2000 and 2500 rpm, rest as before"),
        (with_degrees(2, 6, 10, 14, 18, 20), "2 degrees more up to 1000 rpm, rest as before"),
        (with_degrees(0, 4, 10, 14, 16.5, 18.5), "1.5 degrees out from 3000 rpm up, rest as before"),
        (with_degrees(1, 5, 11, 15, 19, 21), "1 degree more throughout, rest as before"),
        (
            with_degrees(1, 4, 10, 14, 17, 20),
            "1 degree more up to 500 rpm, 1 degree out at 3000 rpm, rest as before",
        ),
        (replace(BEFORE, base_deg=10), "base timing 10 degrees instead of 8 degrees, rest as before"),
        (
            replace(BEFORE, base_deg=-2),
            "base timing 2 degrees after top dead centre instead of 8 degrees, rest as before",
        ),
        (
            replace(BEFORE, vacuum=VacuumRamp(10, 45, 14)),
            "vacuum advance is full at 45 kPa instead of 40 kPa, full vacuum advance 14 degrees instead of 12 degrees, "
            "rest as before",
        ),
        (
            replace(BEFORE, vacuum=None),
            "vacuum part none instead of a ramp of 12 degrees from 10 kPa to 40 kPa, rest as before",
        ),
        (replace(BEFORE, dwell_ms=3.2), "dwell 3.2 ms instead of not set, rest as before"),
        (replace(BEFORE, rev_limit_rpm=5500), "rev limit 5500 rpm instead of 6000 rpm, rest as before"),
        (replace(BEFORE, repeated_sparks=True), "repeated sparks on instead of off, rest as before"),
        (
            replace(BEFORE, boost=BoostRetard([0, 50], [0, 6])),
            "boost retard 0 degrees at 0 kPa 6 degrees at 50 kPa instead of none, rest as before",
        ),
    ],
)
def test_a_change_is_said_in_one_sentence(after, sentence):
    assert compare(BEFORE, after).sentence == sentence


def test_the_noise_of_floating_point_is_no_change():
    noisy = with_degrees(0, 4, 10 + 5e-5, 14, 18, 20)
    assert compare(BEFORE, noisy).same


def test_a_ten_thousandth_of_a_degree_is_a_change():
    assert not compare(BEFORE, with_degrees(0, 4, 10.0002, 14, 18, 20)).same


def test_curves_with_nodes_at_other_speeds_are_compared_at_the_nodes_of_both():
    """By hand: 0 to 20 over 500 to 2500 rpm is 5 at 1000 and 15 at 2000."""
    before = IgnitionMap(8, AdvanceCurve([500, 2500], [0, 20]))
    after = IgnitionMap(8, AdvanceCurve([500, 1000, 2500], [0, 8, 20]))
    rows = compare(before, after).curve
    assert [(row.rpm, row.before, row.after, row.change) for row in rows] == [
        (500, 0, 0, 0),
        (1000, 5, 8, 3),
        (2500, 20, 20, 0),
    ]


@pytest.mark.parametrize(
    ("cells", "sentence"),
    [
        ([[0, 0], [6, 9]], "vacuum table 1 cell up to 1 degree more instead of as it was, rest as before"),
        ([[0, 0], [4, 6]], "vacuum table 2 cells up to 2 degrees out instead of as it was, rest as before"),
    ],
)
def test_cells_of_a_vacuum_table_are_counted(cells, sentence):
    before = replace(BEFORE, vacuum=VacuumTable(rpm=[1000, 3000], vacuum=[0, 40], degrees=[[0, 0], [6, 8]]))
    after = replace(BEFORE, vacuum=VacuumTable(rpm=[1000, 3000], vacuum=[0, 40], degrees=cells))
    assert compare(before, after).sentence == sentence


@pytest.mark.parametrize(
    "other",
    [
        VacuumTable(rpm=[1000, 3500], vacuum=[0, 40], degrees=[[0, 0], [6, 8]]),
        VacuumTable(rpm=[1000, 3000], vacuum=[0, 45], degrees=[[0, 0], [6, 8]]),
    ],
)
def test_tables_on_other_nodes_are_not_compared_cell_by_cell(other):
    before = replace(BEFORE, vacuum=VacuumTable(rpm=[1000, 3000], vacuum=[0, 40], degrees=[[0, 0], [6, 7]]))
    sentence = compare(before, replace(BEFORE, vacuum=other)).sentence
    assert sentence.startswith("vacuum table 2 rows of 2, up to 8 degrees instead of 2 rows of 2, up to 7 degrees")


def test_a_retard_under_boost_is_told_as_it_was_and_as_it_is():
    before, after = (replace(BEFORE, boost=BoostRetard([0, 50], [0, most])) for most in (6, 9))
    assert compare(before, after).sentence == (
        "boost retard 0 degrees at 0 kPa 9 degrees at 50 kPa instead of 0 degrees at 0 kPa 6 degrees at 50 kPa, "
        "rest as before"
    )


def test_a_person_who_thinks_in_inches_of_mercury_reads_inches_of_mercury():
    after = replace(BEFORE, vacuum=VacuumRamp(10, 45, 12))
    sentence = compare(BEFORE, after, lambda kpa: f"{kpa / 3.386389:.1f} inHg").sentence
    assert sentence == "vacuum advance is full at 13.3 inHg instead of 11.8 inHg, rest as before"
