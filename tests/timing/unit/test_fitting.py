"""A map fitted to a unit: the best it can hold, what that costs in words, and everything it cannot hold."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.timing.unit.delivered import (
    CURVE,
    PLAIN,
    problems,
    rounded,
    strayed,
    unit,
)
from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap
from timing.unit import (
    BoostNodes,
    FreeNodes,
    Steps,
    TableEntries,
    UnitError,
    UnitType,
    fit_map,
)
from timing.unit.fit_notes import FitNotes, told_apart
from timing.vacuum import BoostRetard, VacuumRamp

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
    assert fitted.map.total(rpm=3500, vacuum=0) == pytest.approx(fitted.curve_fit.curve.advance(3500))


def test_the_curve_takes_up_what_rounding_the_base_left_over():
    flat = AdvanceCurve([500, 3500], [4.4, 4.4])
    fitted = fit_map(IgnitionMap(10.4, flat), unit(base=Steps(0, 20, 1)))
    assert fitted.map.base_deg == 10
    assert fitted.curve_fit.curve.degrees == (5, 5, 5, 5, 5), "14.8 wanted, 15 is nearer than 14"
    assert fitted.worst_error == pytest.approx(0.2)
    assert fitted.costs == (rounded("base timing", "10.4 degrees", 10),)


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
    with pytest.raises(UnitError, match=r"^a map is fitted nearest or never above, not 'safe'"):
        fit_map(IgnitionMap(10, CURVE), PLAIN, variant="safe")


# ---- Dwell, rev limit, sparks ----------------------------------------------------------------------------------------

DWELL = unit(dwell_ms=Steps(1, 6, 0.25))
LIMIT = unit(rev_limit_rpm=Steps(3000, 9000, 250), rev_limit_manners=("soft", "hard"))


@pytest.mark.parametrize(
    ("wanted", "held", "costs"),
    [
        (3.5, 3.5, ()),
        (3.4, 3.5, (rounded("dwell", "3.4 ms", 3.5),)),
        (3.125, 3.0, (rounded("dwell", "3.12 ms", 3),)),  # the coil stays cooler
        (6.1, 6.0, (rounded("dwell", "6.1 ms", 6),)),
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
    assert fitted.costs == (() if abs(wanted - held) < 25 else (rounded("the rev limit", f"{wanted} rpm", held),))


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


# ---- The whole -------------------------------------------------------------------------------------------------------

EVERYTHING = UnitType(
    nodes=FreeNodes(5, Steps(400, 6000, 400)),
    degree=Steps(-10, 50, 0.5),
    counted_from="absolute",
    base=Steps(0, 20, 0.5),
    vacuum=TableEntries("inHg", rpm=[800, 2000, 4000], vacuum=[-10, 0, 5, 10, 20], degrees=Steps(0, 20, 0.5)),
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
        assert (once.map.total(rpm=rpm, vacuum=vacuum) - wanted.total(rpm=rpm, vacuum=vacuum)).max() < 4e-6


@pytest.mark.parametrize(
    ("wanted", "held", "told"),
    [
        (3.98655, 4, ("3.99 ms", 4)),
        (3.998, 4, ("3.998 ms", 4)),
        (12345, 12000, ("12345 ms", 12000)),
    ],
)
def test_a_figure_is_told_from_what_is_held_of_it_and_no_finer(wanted, held, told):
    notes = FitNotes()
    notes.moved("dwell", wanted, held, "ms", step=0.01)
    assert notes.costs == [rounded("dwell", *told)]


@pytest.mark.parametrize(("off", "said"), [(0.0099, False), (0.01, True), (-0.0099, False), (-0.01, True)])
def test_what_rounds_by_less_than_a_tenth_of_a_step_is_not_said(off, said):
    notes = FitNotes()
    notes.moved("dwell", 3.0 + off, 3.0, "ms", step=0.1)
    assert bool(notes.costs) == said


@pytest.mark.parametrize(("off", "said"), [(0.099, False), (0.1, True), (-0.099, False), (-0.1, True)])
def test_what_strays_by_less_than_a_tenth_of_a_degree_is_not_said(off, said):
    notes = FitNotes()
    notes.strays("vacuum advance", off, "40 kPa of vacuum")
    assert notes.costs == (
        [strayed("vacuum advance", 0.1, "more" if off > 0 else "less", "40 kPa of vacuum")] if said else []
    )


@pytest.mark.parametrize(
    ("target", "delivered", "told"),
    [
        (0.4, -0.0, ("0.4", "0")),  # no minus before a nought
        (10.5, 10, ("10.5", "10")),
        (100, 90, ("100", "90")),
        (3.000001, 3, ("3", "3")),  # closer than five places are one figure
    ],
)
def test_figures_are_told_in_as_few_places_as_tell_them_apart(target, delivered, told):
    assert told_apart(target, delivered) == told
