"""Retard under boost fitted to a unit: never less than wanted where the map stands at the edge of knock."""

from dataclasses import replace

import numpy as np
import pytest

from tests.timing.unit.delivered import (
    BOOST_NODES,
    BOOST_RAMP,
    CURVE,
    PLAIN,
    problems,
    strayed,
)
from timing.ignition_map import IgnitionMap
from timing.unit import (
    BoostNodes,
    RampEntries,
    Steps,
    fit_map,
)
from timing.vacuum import BoostRetard

RETARD = BoostRetard([10, 60], [0, 9])


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
    assert fitted.costs == (strayed("retard under boost", 1.3, "more", "10 kPa of boost"),)


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
