"""The vacuum part of a map fitted to a unit: a ramp or a table in the unit's own pressure and steps."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.timing.unit.delivered import (
    BOOST_RAMP,
    CURVE,
    INHG,
    PLAIN,
    TABLE,
    WITH_RAMP,
    WITH_TABLE,
    problems,
    rounded,
    strayed,
)
from timing.ignition_map import IgnitionMap
from timing.unit import (
    RampEntries,
    Steps,
    fit_map,
)
from timing.units import convert
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

# ---- Vacuum ramp -----------------------------------------------------------------------------------------------------


def test_a_ramp_on_the_steps_is_held_as_it_is():
    start, full = convert([3, 12], "inHg", "kPa")
    fitted = fit_map(IgnitionMap(10, CURVE, VacuumRamp(start, full, 14)), WITH_RAMP)
    assert fitted.costs == ()
    assert fitted.map.vacuum == VacuumRamp(start, full, 14)


def test_a_ramp_in_another_unit_is_rounded_there_and_the_cost_is_named():
    fitted = fit_map(IgnitionMap(10, CURVE, VacuumRamp(10, 40, 14)), WITH_RAMP)
    assert fitted.map.vacuum.start == pytest.approx(10.159166, abs=1e-6), "3 inHg, NIST SP 811"
    assert fitted.map.vacuum.full == pytest.approx(40.636664, abs=1e-6), "12 inHg, NIST SP 811"
    assert fitted.map.vacuum.full_deg == 14
    assert fitted.costs == (
        rounded("the end of the vacuum advance", "11.81 inHg", 12),
        strayed("vacuum advance", 0.29, "less", "11.8 inHg of vacuum"),
    )


@pytest.mark.parametrize(
    ("start", "kept", "stray"),
    [
        # by hand: 14 degrees over 12 less the start, 0.4 inHg from 2.6 to 3, and over 10 inHg from 2 to 2.4
        (2.6, 3, strayed("vacuum advance", 0.6, "less", "3 inHg of vacuum")),
        (2.4, 2, strayed("vacuum advance", 0.56, "more", "2.4 inHg of vacuum")),
    ],
)
def test_a_start_that_is_rounded_is_named_with_what_it_costs(start, kept, stray):
    begins, full = convert([start, 12], "inHg", "kPa")
    fitted = fit_map(IgnitionMap(10, CURVE, VacuumRamp(begins, full, 14)), WITH_RAMP)
    assert fitted.costs == (rounded("the start of the vacuum advance", f"{start} inHg", kept), stray)


def test_a_ramp_of_nothing_stands_on_the_units_own_steps():
    entries = RampEntries("kPa", Steps(0, 80, 1), Steps(1, 91, 2), Steps(0, 30, 1))
    held = fit_map(IgnitionMap(10, CURVE), replace(PLAIN, vacuum=entries, entries=())).map.vacuum
    assert (held.start, held.full, held.full_deg) == (0, 3, 0), "1, 3, 5 kPa: the first beyond the next step"


@settings(max_examples=60)
@given(
    st.floats(0, 40),
    st.floats(3, 40),
    st.floats(1, 20),
    st.sampled_from(["nearest", "never above"]),
    st.sampled_from(["kPa", "inHg", "mbar"]),
)
def test_a_rounded_ramp_strays_no_more_than_any_other_next_to_it(start, reach, degrees, variant, pressure):
    scale = convert(1, "inHg", pressure)
    entries = RampEntries(
        pressure,
        Steps(0, round(30 * scale), 1),
        Steps(0, round(30 * scale) + 2, 1),
        Steps(0, 20, 1),
    )
    wanted = VacuumRamp(start, start + reach, degrees)
    held = fit_map(
        IgnitionMap(10, CURVE, wanted), replace(PLAIN, vacuum=entries, entries=()), variant=variant
    ).map.vacuum
    steps = convert(np.arange(0, round(30 * scale) + 3), pressure, "kPa")
    at = np.union1d([wanted.start, wanted.full], steps)
    error = held.advance(vacuum=at) - wanted.advance(vacuum=at)
    if variant == "never above":
        assert error.max() < 1.1e-6
    others = []
    for some_start in (np.floor(convert(start, "kPa", pressure)), np.ceil(convert(start, "kPa", pressure))):
        for some_full in (
            np.floor(convert(start + reach, "kPa", pressure)),
            np.ceil(convert(start + reach, "kPa", pressure)),
        ):
            for some_degrees in (np.floor(degrees), np.ceil(degrees)):
                if some_start < some_full:
                    other = VacuumRamp(*convert([some_start, some_full], pressure, "kPa"), some_degrees)
                    apart = other.advance(vacuum=at) - wanted.advance(vacuum=at)
                    if variant == "nearest" or apart.max() < 1e-9:
                        others.append(np.abs(apart).max())
    if others:
        assert np.abs(error).max() <= min(others) + 1e-6, "brute force over every corner"


def test_a_ramp_steeper_than_the_steps_can_tell_is_given_an_end():
    start, full = convert([5.1, 5.4], "inHg", "kPa")
    held = fit_map(IgnitionMap(10, CURVE, VacuumRamp(start, full, 10)), WITH_RAMP).map.vacuum
    assert convert([held.start, held.full], "kPa", "inHg") == pytest.approx([5, 6])


@pytest.mark.parametrize(
    ("ramp", "said"),
    [
        (VacuumRamp(10, 90, 14), "the vacuum advance is full at 26.58 inHg, the unit holds 1 to 25"),
        (VacuumRamp(72, 80, 14), "the vacuum advance begins at 21.26 inHg, the unit holds 0 to 20"),
        (VacuumRamp(10, 40, 20.6), "the vacuum advance is 20.6 degrees, the unit holds 0 to 20"),
        (
            VacuumRamp(10, 40, 14, 900),
            "the lowest speed of the vacuum advance is 900 rpm, and the unit cannot be told one",
        ),
    ],
)
def test_a_ramp_beyond_the_unit_is_refused(ramp, said):
    assert problems(IgnitionMap(10, CURVE, ramp), WITH_RAMP) == (said,)


@pytest.mark.parametrize(
    ("wanted", "variant", "held"),
    [(900, "nearest", 1000), (860, "nearest", 800), (860, "never above", 1000), (800, "never above", 800)],
)
def test_the_lowest_speed_is_rounded_and_two_equally_near_upwards(wanted, variant, held):
    entries = replace(INHG, from_rpm=Steps(0, 3000, 200))
    start, full = convert([3, 12], "inHg", "kPa")
    wanted_map = IgnitionMap(10, CURVE, VacuumRamp(start, full, 14, wanted))
    fitted = fit_map(wanted_map, replace(PLAIN, vacuum=entries, entries=()), variant=variant)
    assert fitted.map.vacuum.from_rpm == held
    assert (fitted.costs == ()) is (wanted == held)


@pytest.mark.parametrize(("wanted", "variant"), [(3101, "nearest"), (3001, "never above")])
def test_a_lowest_speed_out_of_range_is_refused(wanted, variant):
    holds = replace(PLAIN, vacuum=replace(INHG, from_rpm=Steps(0, 3000, 200)), entries=())
    start, full = convert([3, 12], "inHg", "kPa")
    assert problems(IgnitionMap(10, CURVE, VacuumRamp(start, full, 14, wanted)), holds, variant) == (
        f"the lowest speed of the vacuum advance is {wanted} rpm, the unit holds 0 to 3000",
    )


def test_a_map_without_vacuum_is_held_as_a_ramp_that_adds_nothing():
    held = fit_map(IgnitionMap(10, CURVE), WITH_RAMP).map.vacuum
    assert held.full_deg == 0
    assert held.start < held.full
    late = replace(INHG, start=Steps(5, 20, 1), full=Steps(0, 25, 1))
    held_late = fit_map(IgnitionMap(10, CURVE), replace(PLAIN, vacuum=late, entries=())).map.vacuum
    assert convert([held_late.start, held_late.full], "kPa", "inHg") == pytest.approx([5, 6])
    assert held.advance(vacuum=[0, 50, 100]).tolist() == [0, 0, 0]
    always = replace(PLAIN, vacuum=replace(INHG, degrees=Steps(4, 20, 1)), entries=())
    assert problems(IgnitionMap(10, CURVE), always) == (
        "the map has no vacuum part, and the unit's adds 4 to 20 degrees",
    )


def test_a_ramp_of_no_degrees_needs_no_vacuum_part():
    assert fit_map(IgnitionMap(10, CURVE, VacuumRamp(10, 40, 0)), PLAIN).map.vacuum is None


def test_a_vacuum_part_of_another_kind_is_refused():
    table = IgnitionMap(10, CURVE, VacuumTable(rpm=[1000], vacuum=[0, 40], degrees=[[0], [10]]))
    assert problems(table, WITH_RAMP) == ("the vacuum part is a table, and the unit holds a ramp",)
    assert problems(table, PLAIN) == ("the map has a vacuum part, and the unit has none",)


def test_no_ramp_below_one_that_begins_above_every_step_is_refused():
    holds = replace(PLAIN, vacuum=RampEntries("kPa", Steps(0, 10, 1), Steps(0, 60, 1), Steps(0, 20, 1)), entries=())
    assert fit_map(IgnitionMap(10, CURVE, VacuumRamp(10.4, 40, 14)), holds).map.vacuum.start == 10
    (sentence,) = problems(IgnitionMap(10, CURVE, VacuumRamp(10.4, 60, 14)), holds, "never above")
    assert sentence == "no vacuum advance that the unit holds stays on the safe side of the map's"


# ---- Vacuum table ----------------------------------------------------------------------------------------------------


def test_a_table_on_the_units_nodes_and_steps_is_held_as_it_is():
    wanted = VacuumTable(rpm=TABLE.rpm, vacuum=TABLE.vacuum, degrees=[[0, 0, 0], [2, 4, 5.5], [4, 8, 11], [4, 8, 12]])
    fitted = fit_map(IgnitionMap(10, CURVE, wanted), WITH_TABLE)
    assert fitted.map.vacuum == wanted
    assert fitted.costs == ()


def test_a_ramp_is_laid_out_as_a_table_and_its_cost_is_named():
    fitted = fit_map(IgnitionMap(10, CURVE, VacuumRamp(10, 40, 14)), WITH_TABLE)
    assert fitted.map.vacuum.degrees == ((0,) * 3, (4.5,) * 3, (14,) * 3, (14,) * 3), "4.667 rounded to halves"
    assert fitted.costs == (strayed("vacuum advance", 2.2, "more", "1000 rpm and 10 kPa of vacuum"),), (
        "the ramp bends at 10 kPa, the table is at 2.25 there"
    )


def test_a_map_without_vacuum_is_a_table_of_noughts():
    assert fit_map(IgnitionMap(10, CURVE), WITH_TABLE).map.vacuum.degrees == ((0.0,) * 3,) * 4


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ([0, 0, 25.3], "asks for 25.3 degrees at 4000 rpm and 40 kPa of vacuum, the unit holds -5.0 to 25.0"),
        ([-5.3, 0, 0], "asks for -5.3 degrees at 1000 rpm and 40 kPa of vacuum, the unit holds -5.0 to 25.0"),
    ],
)
def test_a_cell_beyond_the_unit_is_refused_with_its_place(row, said):
    wanted = VacuumTable(rpm=TABLE.rpm, vacuum=[0, 40], degrees=[[0, 0, 0], row])
    assert problems(IgnitionMap(10, CURVE, wanted), WITH_TABLE) == (f"the vacuum part {said}",)


@settings(max_examples=60)
@given(
    st.lists(st.lists(st.floats(-4, 20), min_size=4, max_size=4), min_size=3, max_size=3),
    st.sampled_from(["nearest", "never above"]),
)
def test_a_table_on_other_nodes_is_close_and_never_above_where_it_must_not_be(degrees, variant):
    wanted = VacuumTable(rpm=[800, 1500, 2500, 4500], vacuum=[5, 25, 70], degrees=degrees)
    fitted = fit_map(IgnitionMap(10, CURVE, wanted), WITH_TABLE, variant=variant)
    held = fitted.map.vacuum
    speeds, vacua = np.linspace(500, 5000, 91), np.linspace(-10, 90, 101)[:, np.newaxis]
    error = held.advance(vacuum=vacua, rpm=speeds) - wanted.advance(vacuum=vacua, rpm=speeds)
    if variant == "never above":
        assert error.max() < 1.1e-6
    at_nodes = held.advance(vacuum=np.array(held.vacuum)[:, np.newaxis], rpm=held.rpm) - wanted.advance(
        vacuum=np.array(held.vacuum)[:, np.newaxis], rpm=held.rpm
    )
    if variant == "nearest":
        assert np.abs(at_nodes).max() <= 0.25 + 1e-9, "half a step at the nodes"
    named = [float(cost.split("up to ")[1].split()[0]) for cost in fitted.costs if cost.startswith("vacuum advance is")]
    assert np.abs(error).max() <= max([*named, 0.1]) * 1.06 + 1e-6, "the cost named is the largest there is"


def test_never_above_takes_nothing_from_full_load_to_mend_light_load():
    held = fit_map(IgnitionMap(10, CURVE, VacuumRamp(10, 40, 14)), WITH_TABLE, variant="never above").map.vacuum
    assert held.degrees[0] == (0, 0, 0)
    assert held.degrees[1] == (0, 0, 0), "with any more at 20 kPa the table would rise before the ramp does"
    assert held.degrees[2] == (14, 14, 14)


def test_a_ramp_that_acts_late_is_fitted_to_a_table_below_its_step():
    wanted = VacuumRamp(0.5, 40, 14, from_rpm=1500)
    held = fit_map(IgnitionMap(10, CURVE, wanted), WITH_TABLE, variant="never above").map.vacuum
    speeds = np.array([0, 1000, 1499.9, 1500, 2000, 4000])
    assert (held.advance(vacuum=40.0, rpm=speeds) <= wanted.advance(vacuum=40.0, rpm=speeds) + 1e-9).all()


# ---- Ties and words --------------------------------------------------------------------------------------------------


def test_of_two_ramps_equally_near_the_safer_is_held():
    kpa = RampEntries("kPa", Steps(0, 60, 1), Steps(0, 60, 1), Steps(0, 20, 1))
    fitted = fit_map(IgnitionMap(10, CURVE, VacuumRamp(10, 40, 13.5)), replace(PLAIN, vacuum=kpa, entries=()))
    assert fitted.map.vacuum == VacuumRamp(10, 40, 13), "13 and 14 are both half a degree off: less advance"
    assert fitted.costs == (
        rounded("full vacuum advance", "13.5 degrees", 13),
        strayed("vacuum advance", 0.5, "less", "40 kPa of vacuum"),
    )
    fitted = fit_map(IgnitionMap(10, CURVE, boost=BoostRetard([10, 60], [0, 8.5])), BOOST_RAMP)
    assert fitted.map.boost == BoostRetard([10, 60], [0, 9]), "8 and 9 are both half a degree off: more retard"
    assert fitted.costs == (
        rounded("full retard under boost", "8.5 degrees", 9),
        strayed("retard under boost", 0.5, "more", "60 kPa of boost"),
    )


def test_a_ramp_that_must_begin_where_it_would_end_ends_a_step_later():
    kpa = RampEntries("kPa", Steps(0, 60, 1), Steps(0, 60, 1), Steps(0, 20, 1))
    wanted = IgnitionMap(10, CURVE, VacuumRamp(5.5, 6, 10))
    held = fit_map(wanted, replace(PLAIN, vacuum=kpa, entries=()), variant="never above").map.vacuum
    assert held == VacuumRamp(6, 7, 10)


def test_a_lowest_speed_costs_a_sentence():
    start, full = convert([3, 12], "inHg", "kPa")
    holds = replace(PLAIN, vacuum=replace(INHG, from_rpm=Steps(0, 3000, 200)), entries=())
    fitted = fit_map(IgnitionMap(10, CURVE, VacuumRamp(start, full, 14, 860)), holds)
    assert fitted.costs == (rounded("the lowest speed of the vacuum advance", "860 rpm", 800),)
    (sentence,) = problems(IgnitionMap(10, CURVE, VacuumRamp(start, full, 14, 0.5)), WITH_RAMP)
    assert sentence == "the lowest speed of the vacuum advance is 0.5 rpm, and the unit cannot be told one"
