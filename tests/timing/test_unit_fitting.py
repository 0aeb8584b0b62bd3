"""A map fitted to a unit: the best it can hold, what that costs in words, and everything it cannot hold."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap
from timing.unit import (
    BoostNodes,
    FixedNodes,
    FreeNodes,
    RampEntries,
    Steps,
    TableEntries,
    UnitCannotHold,
    UnitError,
    UnitType,
    fit_map,
)
from timing.units import convert
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

# The target and the nodes of the worked fit in section 4 of the handbook.
CURVE = AdvanceCurve([500, 1000, 1400, 2200, 3500], [0, 2, 9, 15, 22])
NODES = FixedNodes([500, 1000, 1500, 2500, 3500])
PLAIN = UnitType(NODES, Steps(0, 40, 1))
INHG = RampEntries("inHg", Steps(0, 20, 1), Steps(1, 25, 1), Steps(0, 20, 1))
WITH_RAMP = replace(PLAIN, vacuum=INHG, entries=())
TABLE = TableEntries("kPa", [1000, 2000, 4000], [0, 20, 40, 60], Steps(-5, 25, 0.5))
WITH_TABLE = replace(PLAIN, vacuum=TABLE, entries=())


def unit(**changes):
    return replace(PLAIN, entries=(), **changes)


def problems(wanted, holds, variant="nearest"):
    with pytest.raises(UnitCannotHold) as refusal:
        fit_map(wanted, holds, variant=variant)
    assert str(refusal.value) == "; ".join(refusal.value.problems)
    return refusal.value.problems


# ---- Base and curve --------------------------------------------------------------------------------------------------


def test_the_curve_is_the_best_fit_of_the_handbook():
    fitted = fit_map(IgnitionMap(10, CURVE), PLAIN)
    assert fitted.curve_fit.curve.degrees == (0, 2, 10, 17, 22), "handbook section 4, case A1"
    assert (fitted.worst_error, fitted.at_rpm) == (fitted.curve_fit.worst_error, fitted.curve_fit.at_rpm)
    assert fitted.worst_error == pytest.approx(0.6), "handbook section 4, case A1"
    assert fitted.map.curve == fitted.curve_fit.curve
    assert (fitted.map.base_deg, fitted.costs, fitted.unset) == (10, (), ())


def test_a_map_at_the_edge_of_knock_is_fitted_never_above():
    fitted = fit_map(IgnitionMap(10, CURVE), PLAIN, variant="never above")
    assert fitted.curve_fit.curve.degrees == (0, 2, 9, 16, 22), "handbook section 4, case A4"
    assert fitted.worst_error == pytest.approx(1.4), "handbook section 4, case A4"


def test_free_nodes_are_placed_where_they_serve_best():
    fitted = fit_map(IgnitionMap(10, CURVE), unit(nodes=FreeNodes(4, Steps(500, 4000, 500))))
    assert fitted.worst_error == pytest.approx(0.8), "handbook section 4, case A5"
    assert fitted.curve_fit.curve == AdvanceCurve([500, 1000, 1500, 3500], [0, 2, 10, 22]), "case A5"


def test_a_unit_that_counts_absolute_has_the_base_in_its_nodes():
    fitted = fit_map(IgnitionMap(10, CURVE), unit(counted_from="absolute"))
    assert fitted.curve_fit.curve.degrees == (10, 12, 20, 27, 32), "case A1 and 10 degrees of base"
    assert fitted.map.curve.degrees == pytest.approx((0, 2, 10, 17, 22))
    assert fitted.map.base_deg == 10


def test_an_absolute_unit_without_a_base_entry_leaves_the_base_as_it_is():
    fitted = fit_map(IgnitionMap(9.7, CURVE), unit(counted_from="absolute"))
    assert fitted.map.base_deg == 9.7
    assert fitted.map.total(3500, 0) == pytest.approx(fitted.curve_fit.curve.advance(3500))


def test_the_curve_takes_up_what_rounding_the_base_left_over():
    flat = AdvanceCurve([500, 3500], [4.4, 4.4])
    fitted = fit_map(IgnitionMap(10.4, flat), unit(base=Steps(0, 20, 1)))
    assert fitted.map.base_deg == 10
    assert fitted.curve_fit.curve.degrees == (5, 5, 5, 5, 5), "14.8 wanted, 15 is nearer than 14"
    assert fitted.worst_error == pytest.approx(0.2)
    assert fitted.costs == ("base timing, 10.4 degrees, is held as 10",)


@pytest.mark.parametrize(("variant", "base", "nodes"), [("nearest", 11, 0), ("never above", 10, 0)])
def test_the_base_is_rounded_to_the_units_steps(variant, base, nodes):
    flat = AdvanceCurve([500, 3500], [0, 0])
    fitted = fit_map(IgnitionMap(10.6, flat), unit(base=Steps(0, 20, 1)), variant=variant)
    assert fitted.map.base_deg == base
    assert fitted.curve_fit.curve.degrees == (nodes,) * 5


def test_a_base_on_the_steps_costs_nothing():
    assert fit_map(IgnitionMap(0.1 + 0.2, CURVE), unit(base=Steps(0, 20, 0.1))).costs == ()


@pytest.mark.parametrize(
    ("base", "variant", "held"),
    [(20.5, "nearest", 20), (-0.5, "nearest", 0), (20.4, "never above", 20), (0, "never above", 0)],
)
def test_a_base_half_a_step_outside_is_brought_in(base, variant, held):
    wanted = IgnitionMap(base, AdvanceCurve([1000], [10]))
    assert fit_map(wanted, unit(base=Steps(0, 20, 1)), variant=variant).map.base_deg == held


@pytest.mark.parametrize(("base", "variant"), [(20.6, "nearest"), (-0.6, "nearest"), (-0.1, "never above")])
def test_a_base_outside_the_range_is_refused(base, variant):
    wanted = IgnitionMap(base, AdvanceCurve([1000], [10]))
    assert problems(wanted, unit(base=Steps(0, 20, 1)), variant) == (
        f"base timing is {base:g} degrees, the unit holds 0 to 20",
    )


def test_a_curve_beyond_the_units_degrees_is_refused_node_by_node():
    steep = AdvanceCurve([500, 2000, 3500], [-1, 20, 41])
    assert problems(IgnitionMap(10, steep), PLAIN) == (
        "the curve asks for -1 degrees at 500 rpm, the unit holds 0 to 40",
        "the curve asks for 41 degrees at 3500 rpm, the unit holds 0 to 40",
    )
    assert problems(IgnitionMap(10, CURVE), unit(degree=Steps(0, 30, 1), counted_from="absolute")) == (
        "the curve asks for 32 degrees at 3500 rpm, the unit holds 0 to 30",
    )


def test_a_curve_that_nothing_stays_below_is_refused():
    (sentence,) = problems(IgnitionMap(10, AdvanceCurve([500, 3500], [-0.3, 20])), PLAIN, "never above")
    assert "500 rpm" in sentence


def test_a_variant_is_one_of_two():
    with pytest.raises(UnitError, match="nearest or never above, not 'safe'"):
        fit_map(IgnitionMap(10, CURVE), PLAIN, variant="safe")


# ---- Dwell, rev limit, sparks ----------------------------------------------------------------------------------------

DWELL = unit(dwell_ms=Steps(1, 6, 0.25))
LIMIT = unit(rev_limit_rpm=Steps(3000, 9000, 250), rev_limit_manners=("soft", "hard"))


@pytest.mark.parametrize(
    ("wanted", "held", "costs"),
    [
        (3.5, 3.5, ()),
        (3.4, 3.5, ("dwell, 3.4 ms, is held as 3.5",)),
        (3.125, 3.0, ("dwell, 3.125 ms, is held as 3",)),  # the coil stays cooler
        (6.1, 6.0, ("dwell, 6.1 ms, is held as 6",)),
    ],
)
def test_dwell_is_rounded_to_the_nearest_step(wanted, held, costs):
    fitted = fit_map(IgnitionMap(10, CURVE, dwell_ms=wanted), DWELL)
    assert (fitted.map.dwell_ms, fitted.costs) == (held, costs)


@pytest.mark.parametrize("wanted", [0.8, 6.2])
def test_dwell_out_of_range_is_refused(wanted):
    assert problems(IgnitionMap(10, CURVE, dwell_ms=wanted), DWELL) == (
        f"dwell is {wanted:g} ms, the unit holds 1.00 to 6.00",
    )


def test_a_dwell_the_unit_cannot_be_told_is_refused():
    assert problems(IgnitionMap(10, CURVE, dwell_ms=3.5), PLAIN) == (
        "the map asks for 3.5 ms of dwell, and the unit cannot be told",
    )


@pytest.mark.parametrize(("wanted", "held"), [(6500, 6500), (6749, 6500), (6510, 6500), (9100, 9000)])
def test_a_rev_limit_is_only_ever_rounded_down(wanted, held):
    fitted = fit_map(IgnitionMap(10, CURVE, rev_limit_rpm=wanted, rev_limit_manner="soft"), LIMIT)
    assert fitted.map.rev_limit_rpm == held
    assert fitted.costs == (() if wanted == held else (f"the rev limit, {wanted} rpm, is held as {held}",))


@pytest.mark.parametrize("wanted", [2999, 9126])
def test_a_rev_limit_out_of_range_is_refused(wanted):
    assert problems(IgnitionMap(10, CURVE, rev_limit_rpm=wanted, rev_limit_manner="soft"), LIMIT) == (
        f"the rev limit is {wanted} rpm, the unit holds 3000 to 9000",
    )


def test_a_rev_limit_the_unit_does_not_have_is_refused():
    assert problems(IgnitionMap(10, CURVE, rev_limit_rpm=6500), PLAIN) == (
        "the map has a rev limit of 6500 rpm, and the unit has none",
    )


def test_the_only_manner_there_is_is_filled_in():
    hard = unit(rev_limit_rpm=Steps(3000, 9000, 250), rev_limit_manners=("hard",))
    assert fit_map(IgnitionMap(10, CURVE, rev_limit_rpm=6500), hard).map.rev_limit_manner == "hard"
    assert problems(IgnitionMap(10, CURVE, rev_limit_rpm=6500, rev_limit_manner="soft"), hard) == (
        "the rev limit is soft, and the unit's can only be hard",
    )


def test_what_the_map_leaves_open_is_named():
    both = unit(dwell_ms=Steps(1, 6, 0.1), rev_limit_rpm=Steps(3000, 9000, 250), rev_limit_manners=("soft", "hard"))
    assert fit_map(IgnitionMap(10, CURVE), both).unset == (
        "the unit asks for a dwell, and the map gives none",
        "the unit asks for a rev limit, and the map gives none",
    )
    assert fit_map(IgnitionMap(10, CURVE, dwell_ms=3, rev_limit_rpm=6500), both).unset == (
        "the unit asks whether the rev limit is soft or hard, and the map does not say",
    )
    assert fit_map(IgnitionMap(10, CURVE), PLAIN).unset == ()


def test_repeated_sparks_need_a_unit_that_gives_them():
    wanted = IgnitionMap(10, CURVE, repeated_sparks=True)
    assert problems(wanted, PLAIN) == ("the map asks for repeated sparks while cranking, and the unit gives none",)
    assert fit_map(wanted, unit(repeated_sparks=True)).map.repeated_sparks is True


def test_everything_that_does_not_fit_is_named_at_once():
    wanted = IgnitionMap(30, CURVE, VacuumRamp(10, 40, 14), BoostRetard([0, 50], [0, 10]), 9, 9999, "soft", True)
    found = problems(wanted, replace(DWELL, base=Steps(0, 20, 1), entries=()))
    assert [sentence.split(" is ")[0].split(",")[0] for sentence in found] == [
        "base timing",
        "the map has a vacuum part",
        "the map has a retard under boost",
        "dwell",
        "the map has a rev limit of 9999 rpm",
        "the map asks for repeated sparks while cranking",
    ]


def test_the_trigger_stays_with_the_map():
    assert fit_map(IgnitionMap(10, CURVE, trigger="hall"), PLAIN).map.trigger == "hall"


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
        "the start of the vacuum advance, 2.953 inHg, is held as 3",
        "the end of the vacuum advance, 11.812 inHg, is held as 12",
        "vacuum advance is up to 0.29 degrees less than wanted, at 11.8 inHg of vacuum",
    )


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
    error = held.advance(at) - wanted.advance(at)
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
                    apart = other.advance(at) - wanted.advance(at)
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
    assert held.advance([0, 50, 100]).tolist() == [0, 0, 0]
    always = replace(PLAIN, vacuum=replace(INHG, degrees=Steps(4, 20, 1)), entries=())
    assert problems(IgnitionMap(10, CURVE), always) == (
        "the map has no vacuum part, and the unit's adds 4 to 20 degrees",
    )


def test_a_ramp_of_no_degrees_needs_no_vacuum_part():
    assert fit_map(IgnitionMap(10, CURVE, VacuumRamp(10, 40, 0)), PLAIN).map.vacuum is None


def test_a_vacuum_part_of_another_kind_is_refused():
    table = IgnitionMap(10, CURVE, VacuumTable([1000], [0, 40], [[0], [10]]))
    assert problems(table, WITH_RAMP) == ("the vacuum part is a table, and the unit holds a ramp",)
    assert problems(table, PLAIN) == ("the map has a vacuum part, and the unit has none",)


def test_no_ramp_below_one_that_begins_above_every_step_is_refused():
    holds = replace(PLAIN, vacuum=RampEntries("kPa", Steps(0, 10, 1), Steps(0, 60, 1), Steps(0, 20, 1)), entries=())
    assert fit_map(IgnitionMap(10, CURVE, VacuumRamp(10.4, 40, 14)), holds).map.vacuum.start == 10
    (sentence,) = problems(IgnitionMap(10, CURVE, VacuumRamp(10.4, 60, 14)), holds, "never above")
    assert sentence == "no vacuum advance that the unit holds stays on the safe side of the map's"


# ---- Vacuum table ----------------------------------------------------------------------------------------------------


def test_a_table_on_the_units_nodes_and_steps_is_held_as_it_is():
    wanted = VacuumTable(TABLE.rpm, TABLE.vacuum, [[0, 0, 0], [2, 4, 5.5], [4, 8, 11], [4, 8, 12]])
    fitted = fit_map(IgnitionMap(10, CURVE, wanted), WITH_TABLE)
    assert fitted.map.vacuum == wanted
    assert fitted.costs == ()


def test_a_ramp_is_laid_out_as_a_table_and_its_cost_is_named():
    fitted = fit_map(IgnitionMap(10, CURVE, VacuumRamp(10, 40, 14)), WITH_TABLE)
    assert fitted.map.vacuum.degrees == ((0,) * 3, (4.5,) * 3, (14,) * 3, (14,) * 3), "4.667 rounded to halves"
    assert fitted.costs == (
        "vacuum advance is up to 2.2 degrees more than wanted, at 1000 rpm and 10 kPa of vacuum",
    ), "the ramp bends at 10 kPa, the table is at 2.25 there"


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
    wanted = VacuumTable(TABLE.rpm, [0, 40], [[0, 0, 0], row])
    assert problems(IgnitionMap(10, CURVE, wanted), WITH_TABLE) == (f"the vacuum part {said}",)


@settings(max_examples=60)
@given(
    st.lists(st.lists(st.floats(-4, 20), min_size=4, max_size=4), min_size=3, max_size=3),
    st.sampled_from(["nearest", "never above"]),
)
def test_a_table_on_other_nodes_is_close_and_never_above_where_it_must_not_be(degrees, variant):
    wanted = VacuumTable([800, 1500, 2500, 4500], [5, 25, 70], degrees)
    fitted = fit_map(IgnitionMap(10, CURVE, wanted), WITH_TABLE, variant=variant)
    held = fitted.map.vacuum
    speeds, vacua = np.linspace(500, 5000, 91), np.linspace(-10, 90, 101)[:, np.newaxis]
    error = held.advance(vacua, speeds) - wanted.advance(vacua, speeds)
    if variant == "never above":
        assert error.max() < 1.1e-6
    at_nodes = held.advance(np.array(held.vacuum)[:, np.newaxis], held.rpm) - wanted.advance(
        np.array(held.vacuum)[:, np.newaxis], held.rpm
    )
    if variant == "nearest":
        assert np.abs(at_nodes).max() <= 0.25 + 1e-9, "half a step at the nodes"
    named = [float(cost.split("up to ")[1].split()[0]) for cost in fitted.costs if cost.startswith("vacuum advance is")]
    assert np.abs(error).max() <= max([*named, 0.0]) * 1.06 + 1e-6, "the cost named is the largest there is"


def test_never_above_takes_nothing_from_full_load_to_mend_light_load():
    held = fit_map(IgnitionMap(10, CURVE, VacuumRamp(10, 40, 14)), WITH_TABLE, variant="never above").map.vacuum
    assert held.degrees[0] == (0, 0, 0)
    assert held.degrees[1] == (0, 0, 0), "with any more at 20 kPa the table would rise before the ramp does"
    assert held.degrees[2] == (14, 14, 14)


def test_a_ramp_that_acts_late_is_fitted_to_a_table_below_its_step():
    wanted = VacuumRamp(0.5, 40, 14, from_rpm=1500)
    held = fit_map(IgnitionMap(10, CURVE, wanted), WITH_TABLE, variant="never above").map.vacuum
    speeds = np.array([0, 1000, 1499.9, 1500, 2000, 4000])
    assert (held.advance(40.0, speeds) <= wanted.advance(40.0, speeds) + 1e-9).all()


# ---- Boost -----------------------------------------------------------------------------------------------------------

RETARD = BoostRetard([10, 60], [0, 9])
BOOST_RAMP = replace(PLAIN, boost=RampEntries("kPa", Steps(0, 100, 5), Steps(5, 200, 5), Steps(0, 20, 1)), entries=())
BOOST_NODES = replace(PLAIN, boost=BoostNodes("kPa", [0, 30, 60, 90], Steps(0, 20, 1)), entries=())


def test_a_retard_on_the_steps_is_held_as_it_is():
    fitted = fit_map(IgnitionMap(10, CURVE, boost=RETARD), BOOST_RAMP)
    assert (fitted.map.boost, fitted.costs) == (RETARD, ())


@pytest.mark.parametrize("variant", ["nearest", "never above"])
def test_a_retard_between_the_steps_is_rounded_and_never_less_where_it_must_not_be(variant):
    wanted = BoostRetard([12, 58], [0, 8.6])
    held = fit_map(IgnitionMap(10, CURVE, boost=wanted), BOOST_RAMP, variant=variant).map.boost
    at = np.linspace(-20, 200, 441)
    error = held.retard(at) - wanted.retard(at)
    assert np.abs(error).max() < 1
    if variant == "never above":
        assert error.min() > -1e-9
        assert held == BoostRetard([10, 60], [0, 9]), "8.64 at 58 kPa, by hand"


def test_nodes_of_boost_are_rounded_where_they_stand():
    fitted = fit_map(IgnitionMap(10, CURVE, boost=RETARD), BOOST_NODES)
    assert fitted.map.boost == BoostRetard([0, 30, 60, 90], [0, 4, 9, 9]), "3.6 rounded to 4"
    assert fitted.costs == ("retard under boost is up to 1.3 degrees more than wanted, at 10 kPa of boost",)


def test_two_retards_equally_near_give_the_larger():
    fitted = fit_map(IgnitionMap(10, CURVE, boost=BoostRetard([0, 60], [0, 9])), BOOST_NODES)
    assert fitted.map.boost.degrees == (0, 5, 9, 9), "4.5 at 30 kPa"


def test_nodes_of_boost_never_take_less_where_they_must_not():
    wanted = BoostRetard([0, 45, 60], [0, 9, 9])
    held = fit_map(IgnitionMap(10, CURVE, boost=wanted), BOOST_NODES, variant="never above").map.boost
    at = np.linspace(0, 120, 481)
    assert (held.retard(at) - wanted.retard(at)).min() > -1e-9
    assert held.degrees == (0, 9, 9, 9), "6 and 9 would leave 7.5 at 45 kPa"


def test_boost_that_begins_below_the_first_node_cannot_be_held_never_above():
    holds = replace(PLAIN, boost=BoostNodes("kPa", [20, 60], Steps(0, 20, 1)), entries=())
    assert fit_map(IgnitionMap(10, CURVE, boost=RETARD), holds).map.boost.degrees == (0, 9)
    assert problems(IgnitionMap(10, CURVE, boost=RETARD), holds, "never above") == (
        "no retard under boost that the unit holds stays on the safe side of the map's",
    )


@pytest.mark.parametrize("holds", [BOOST_RAMP, BOOST_NODES], ids=["ramp", "nodes"])
def test_a_map_without_boost_is_held_as_no_retard(holds):
    held = fit_map(IgnitionMap(10, CURVE), holds).map.boost
    assert held.retard([0, 50, 300]).tolist() == [0, 0, 0]


@pytest.mark.parametrize(
    ("retard", "holds", "said"),
    [
        (RETARD, PLAIN, "the map has a retard under boost, and the unit has none"),
        (
            BoostRetard([0, 30, 60], [0, 2, 9]),
            BOOST_RAMP,
            "the retard under boost has 3 nodes, and the unit holds a ramp",
        ),
        (BoostRetard([10, 60], [0, 21]), BOOST_NODES, "the retard under boost is 21 degrees, the unit holds 0 to 20"),
        (BoostRetard([10, 60], [0, 21]), BOOST_RAMP, "the retard under boost is 21 degrees, the unit holds 0 to 20"),
        (
            BoostRetard([10, 210], [0, 9]),
            BOOST_RAMP,
            "the retard under boost is full at 210 kPa, the unit holds 5 to 200",
        ),
        (
            None,
            replace(PLAIN, boost=RampEntries("kPa", Steps(0, 9, 1), Steps(5, 20, 5), Steps(2, 20, 1)), entries=()),
            "the map has no retard under boost, and the unit's takes 2 to 20 degrees",
        ),
    ],
)
def test_a_retard_beyond_the_unit_is_refused(retard, holds, said):
    assert problems(IgnitionMap(10, CURVE, boost=retard), holds) == (said,)


def test_a_retard_of_nothing_needs_no_boost_part():
    assert fit_map(IgnitionMap(10, CURVE, boost=BoostRetard([0], [0])), PLAIN).map.boost is None
    assert fit_map(IgnitionMap(10, CURVE, boost=BoostRetard([0, 50], [0, 0])), PLAIN).map.boost is None


# ---- The whole -------------------------------------------------------------------------------------------------------

EVERYTHING = UnitType(
    nodes=FreeNodes(5, Steps(400, 6000, 400)),
    degree=Steps(-10, 50, 0.5),
    counted_from="absolute",
    base=Steps(0, 20, 0.5),
    vacuum=TableEntries("inHg", [800, 2000, 4000], [-10, 0, 5, 10, 20], Steps(0, 20, 0.5)),
    boost=BoostNodes("psi", [0, 5, 10], Steps(0, 20, 0.5)),
    dwell_ms=Steps(1, 6, 0.25),
    rev_limit_rpm=Steps(3000, 9000, 100),
    rev_limit_manners=("soft", "hard"),
    repeated_sparks=True,
)


@settings(max_examples=25, deadline=None)
@given(
    st.floats(0, 20),
    st.lists(st.floats(0, 28), min_size=4, max_size=4),
    st.floats(0, 19),
    st.floats(0, 15),
    st.floats(1, 6),
    st.floats(3000, 9000),
    st.sampled_from(["nearest", "never above"]),
)
def test_a_map_once_fitted_fits_without_any_cost(base, degrees, by_vacuum, by_boost, dwell, limit, variant):
    wanted = IgnitionMap(
        base,
        AdvanceCurve([700, 1500, 2600, 5200], degrees),
        VacuumRamp(8, 45, by_vacuum),
        BoostRetard([0, 60], [0, by_boost]),
        dwell,
        limit,
        "soft",
    )
    once = fit_map(wanted, EVERYTHING, variant=variant)
    again = fit_map(once.map, EVERYTHING, variant=variant)
    assert again.map.content_hash() == once.map.content_hash()
    assert again.worst_error < 1e-9
    assert again.costs == ()
    if variant == "never above":
        rpm, vacuum = np.linspace(0, 7000, 141), np.linspace(-80, 80, 81)[:, np.newaxis]
        assert (once.map.total(rpm, vacuum) - wanted.total(rpm, vacuum)).max() < 4e-6


# ---- Ties and words --------------------------------------------------------------------------------------------------


def test_of_two_ramps_equally_near_the_safer_is_held():
    kpa = RampEntries("kPa", Steps(0, 60, 1), Steps(0, 60, 1), Steps(0, 20, 1))
    fitted = fit_map(IgnitionMap(10, CURVE, VacuumRamp(10, 40, 13.5)), replace(PLAIN, vacuum=kpa, entries=()))
    assert fitted.map.vacuum == VacuumRamp(10, 40, 13), "13 and 14 are both half a degree off: less advance"
    assert fitted.costs == (
        "full vacuum advance, 13.5 degrees, is held as 13",
        "vacuum advance is up to 0.5 degrees less than wanted, at 40 kPa of vacuum",
    )
    fitted = fit_map(IgnitionMap(10, CURVE, boost=BoostRetard([10, 60], [0, 8.5])), BOOST_RAMP)
    assert fitted.map.boost == BoostRetard([10, 60], [0, 9]), "8 and 9 are both half a degree off: more retard"
    assert fitted.costs == (
        "full retard under boost, 8.5 degrees, is held as 9",
        "retard under boost is up to 0.5 degrees more than wanted, at 60 kPa of boost",
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
    assert fitted.costs == ("the lowest speed of the vacuum advance, 860 rpm, is held as 800",)
    (sentence,) = problems(IgnitionMap(10, CURVE, VacuumRamp(start, full, 14, 0.5)), WITH_RAMP)
    assert sentence == "the lowest speed of the vacuum advance is 0.5 rpm, and the unit cannot be told one"
