"""What changed from one map to another, in one sentence."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import RegularGridInterpolator

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
        (with_degrees(0, -4, 10, 14, 18, 20), "8 degrees out at 1000 rpm, rest as before"),
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
    noisy = with_degrees(0, 4, 10 + 1e-9, 14, 18, 20)
    assert compare(BEFORE, noisy).same
    assert compare(BEFORE, noisy).sentence == "nothing changed"


@pytest.mark.parametrize(
    ("after", "sentence"),
    [
        (replace(BEFORE, base_deg=8.0003), "base timing 8.0003 degrees instead of 8 degrees"),
        (with_degrees(0, 4, 10.000002, 14, 18, 20), "0.000002 degrees more at 2000 rpm"),
        (replace(BEFORE, vacuum=VacuumRamp(10, 40.03, 12)), "vacuum advance is full at 40.03 kPa instead of 40 kPa"),
        (replace(BEFORE, vacuum=VacuumRamp(10, 40, 12.0003)), "full vacuum advance 12.0003 degrees instead of"),
        (replace(BEFORE, vacuum=VacuumRamp(10, 40, 12, 0.01)), "vacuum advance acts from 0.01 rpm instead of 0 rpm"),
        (replace(BEFORE, rev_limit_rpm=6000.0003), "rev limit 6000.0003 rpm instead of 6000 rpm"),
    ],
)
def test_what_the_hash_tells_apart_is_named(after, sentence):
    assert compare(BEFORE, after).sentence.startswith(sentence)
    assert BEFORE.content_hash() != after.content_hash()


def test_pressures_that_a_person_s_unit_rounds_alike_are_said_in_kpa():
    after = replace(BEFORE, vacuum=VacuumRamp(10, 40.03, 12), boost=BoostRetard([0, 50], [0, 6]))
    found = compare(BEFORE, after, lambda kpa: f"{kpa / 3.386389:.0f} inHg")
    assert [(one.before, one.after) for one in found.settings] == [
        ("40 kPa", "40.03 kPa"),
        ("none", "0 degrees at 0 inHg 6 degrees at 15 inHg"),
    ]
    higher = replace(after, boost=BoostRetard([0, 50.02], [0, 6]))
    assert compare(after, higher, lambda kpa: f"{kpa / 3.386389:.0f} inHg").settings[0].after.endswith("at 50.02 kPa")


def a_map(draw) -> IgnitionMap:
    """A map of coarse figures, so that two drawn maps are often alike in most of them."""
    steps = draw(st.lists(st.sampled_from([500.0, 1000.0]), min_size=1, max_size=4))
    speeds = np.cumsum(steps)
    degrees = [draw(st.sampled_from([0.0, 4.0, 8.0])) for _ in steps]
    table = VacuumTable(
        rpm=[1000, draw(st.sampled_from([3000, 6000]))],
        vacuum=[0, draw(st.sampled_from([40, 80]))],
        degrees=[[0, 0], [draw(st.sampled_from([0, 6])), 6]],
    )
    ramp = VacuumRamp(
        draw(st.sampled_from([0, 10])), 40, draw(st.sampled_from([0, 6])), draw(st.sampled_from([0, 900]))
    )
    boost = BoostRetard([0, draw(st.sampled_from([50, 60]))], [0, draw(st.sampled_from([0, 6]))])
    nudge = draw(st.sampled_from([0.0, 2e-7, 2e-6, 0.03]))
    return IgnitionMap(
        base_deg=8.0 + nudge,
        curve=AdvanceCurve(speeds, degrees),
        vacuum=draw(st.sampled_from([None, table, ramp])),
        boost=draw(st.sampled_from([None, boost])),
        dwell_ms=draw(st.sampled_from([None, 3.0, 3.0 + 1e-8])),
        rev_limit_rpm=draw(st.sampled_from([None, 6000.0])),
        rev_limit_manner=draw(st.sampled_from([None, "soft", "hard"])),
        repeated_sparks=draw(st.booleans()),
        trigger=draw(st.sampled_from([None, "hall"])),
    )


MAPS = st.composite(a_map)()


@given(MAPS, MAPS, st.sampled_from([lambda kpa: f"{kpa:.0f} kPa", lambda kpa: "some pressure"]))
def test_nothing_changed_exactly_where_the_hashes_are_equal(before, after, pressure):
    found = compare(before, after, pressure)
    assert found.same is (before.content_hash() == after.content_hash())
    assert found.same is (found.sentence == "nothing changed")
    for setting in found.settings:
        assert setting.before != setting.after


@given(MAPS, st.sampled_from(["base_deg", "dwell_ms", "rev_limit_rpm"]), st.floats(-3, 3))
def test_one_changed_figure_is_named_as_soon_as_the_hash_changes(before, name, by):
    after = replace(before, **{name: (getattr(before, name) or 0.0) + 10.0 + by})
    assert compare(before, after).same is (before.content_hash() == after.content_hash())


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


def tables(before, after) -> tuple[IgnitionMap, IgnitionMap]:
    """Two maps that differ in the nodes of their vacuum tables; the cells are the same."""
    cells = [[0, 0], [6, 8]]
    return tuple(
        replace(BEFORE, vacuum=VacuumTable(rpm=rpm, vacuum=kpa, degrees=cells)) for rpm, kpa in (before, after)
    )


def test_tables_with_the_same_cells_on_other_nodes_are_not_the_same():
    """Issue 9.1: at 2500 rpm and 40 kPa 39.25 degrees against 31.85; scipy judges both surfaces."""
    cells = [[5, 5], [13, 13]]
    before, after = (
        IgnitionMap(10, AdvanceCurve([1000], [16.25]), VacuumTable(rpm=rpm, vacuum=kpa, degrees=cells))
        for rpm, kpa in (([1000, 3000], [0, 40]), ([1000, 6000], [0, 80]))
    )
    found = compare(before, after)
    assert not found.same
    judges = [
        RegularGridInterpolator((one.vacuum.vacuum, one.vacuum.rpm), np.array(one.vacuum.degrees))
        for one in (before, after)
    ]
    by = float(judges[1]((40, 2500)) - judges[0]((40, 2500)))
    assert found.settings[-1].after == f"up to {-by:g} degrees out, at 1000 rpm and 40 kPa"
    assert found.settings[-1].before == "as it was"
    assert "speeds of the vacuum table 1000, 6000 rpm instead of 1000, 3000 rpm" in found.sentence
    assert "rows of the vacuum table 0 kPa, 80 kPa instead of 0 kPa, 40 kPa" in found.sentence


def test_tables_on_other_nodes_are_compared_on_the_nodes_of_both():
    """scipy's bilinear interpolation on a dense grid finds no larger difference, and finds that one."""
    before, after = tables(([1000, 3000], [0, 40]), ([1000, 3500], [0, 45]))
    rpm, vacuum = np.meshgrid(np.linspace(1000, 3000, 401), np.linspace(0, 40, 81))
    judges = [
        RegularGridInterpolator((one.vacuum.vacuum, one.vacuum.rpm), np.array(one.vacuum.degrees))
        for one in (before, after)
    ]
    largest = np.abs(judges[1]((vacuum, rpm)) - judges[0]((vacuum, rpm))).max()
    assert compare(before, after).settings[-1].after.startswith(f"up to {round(largest, 2):g} degrees")


def test_the_same_surface_on_more_nodes_is_said_to_have_other_nodes():
    before, after = tables(([1000, 3000], [0, 40]), ([1000, 3000], [0, 40]))
    finer = VacuumTable(rpm=[1000, 2000, 3000], vacuum=[0, 40], degrees=[[0, 0, 0], [6, 7, 8]])
    assert [(one.name, one.after) for one in compare(before, replace(after, vacuum=finer)).settings] == [
        ("speeds of the vacuum table", "1000, 2000, 3000 rpm")
    ]
    more = replace(BEFORE, curve=AdvanceCurve([500, 750, *SPEEDS[1:]], [0, 2, 4, 10, 14, 18, 20]))
    assert compare(BEFORE, more).sentence == (
        "points of the speed curve 500, 750, 1000, 2000, 2500, 3000, 4000 rpm instead of"
        " 500, 1000, 2000, 2500, 3000, 4000 rpm, rest as before"
    )


def test_a_ramp_for_a_table_says_what_it_changes_most():
    """By hand: 8 of the ramp's 12 degrees at 40 kPa; from 900 rpm on, so that the table alone acts below."""
    table = replace(BEFORE, vacuum=VacuumTable(rpm=[1000], vacuum=[0, 40], degrees=[[0], [8]]))
    assert compare(BEFORE, table).settings[0].after == (
        "a table of 2 rows of 1, up to 8 degrees (up to 4 degrees out, at 40 kPa)"
    )
    late = replace(BEFORE, vacuum=VacuumRamp(10, 40, 12, 900))
    assert "up to 8 degrees more, at 900 rpm and 40 kPa" in compare(late, table).sentence


@pytest.mark.parametrize(
    ("was", "now", "sentence"),
    [
        ({"dwell_ms": 3.0}, {"dwell_ms": 3.2}, "dwell 3.2 ms instead of 3 ms"),
        ({"dwell_ms": 3.0}, {"dwell_ms": None}, "dwell not set instead of 3 ms"),
        ({"rev_limit_rpm": 6000}, {"rev_limit_rpm": None}, "rev limit not set instead of 6000 rpm"),
        ({"trigger": "hall"}, {"trigger": "optical"}, "trigger optical instead of hall"),
        ({"trigger": None}, {"trigger": "hall"}, "trigger hall instead of not set"),
        ({"trigger": None}, {"trigger": "contact breaker"}, "trigger points instead of not set"),
        ({"rev_limit_manner": "soft"}, {"rev_limit_manner": "hard"}, "limiter hard instead of soft"),
        ({"rev_limit_manner": None}, {"rev_limit_manner": "hard"}, "limiter hard instead of not set"),
        ({"base_deg": -2}, {"base_deg": -3}, "base timing 3 degrees after top dead centre instead of 2 degrees after"),
    ],
)
def test_a_setting_is_named_with_its_unit_as_it_was_and_as_it_is(was, now, sentence):
    found = compare(replace(BEFORE, **was), replace(BEFORE, **now))
    assert found.sentence.startswith(sentence)
    assert len(found.settings) == 1


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
