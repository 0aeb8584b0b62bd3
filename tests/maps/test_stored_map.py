"""A map on its way into the record and out of it: JSON and columns, and what the first release left there."""

import json

import pytest

from garage.units.capability import capability_of
from garage.units.examples import FALLOW, TERN
from jobs.maps.stored_map import from_columns, from_json, to_columns, to_json
from jobs.maps.unit_fit import lines_of
from tests.jobs_factories import UnitTypeRevisionFactory, released_version
from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap
from timing.unit import RampEntries, Steps, fit_map, key_in_lines
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

CURVE = AdvanceCurve([800, 3000], [0, 18.25])
MAPS = {
    "bare": IgnitionMap(8, CURVE),
    "with a ramp": IgnitionMap(8.5, CURVE, vacuum=VacuumRamp(10.5, 40, 12, 1200), rev_limit_rpm=6000),
    "with a table": IgnitionMap(
        -2,
        CURVE,
        vacuum=VacuumTable(rpm=[1000, 3000], vacuum=[0, 40], degrees=[[0, 0], [8, 12]]),
        dwell_ms=3.2,
        trigger="hall",
    ),
    "under boost": IgnitionMap(
        10, CURVE, boost=BoostRetard([0, 50], [0, 4]), rev_limit_rpm=6500, rev_limit_manner="soft", repeated_sparks=True
    ),
}


@pytest.mark.parametrize("name", MAPS)
def test_json_and_columns_are_two_forms_of_one_map(name):
    ignition_map = MAPS[name]
    assert from_json(json.loads(json.dumps(to_json(ignition_map)))) == ignition_map
    assert from_columns(json.loads(json.dumps(to_columns(ignition_map)))) == ignition_map


@pytest.mark.parametrize("name", MAPS)
def test_what_the_first_release_kept_as_columns_is_read_as_well(name):
    assert from_json(json.loads(json.dumps(to_columns(MAPS[name])))) == MAPS[name]


def test_what_was_never_kept_is_no_map():
    with pytest.raises(LookupError):
        from_json({})


@pytest.mark.parametrize(("unit", "step"), [("inHg", 0.01), ("mmHg", 1), ("psi", 0.01), ("bar", 0.001), ("mbar", 1)])
def test_a_map_kept_to_a_millionth_is_still_on_the_steps_of_its_unit(unit, step):
    """No step of a pressure is a round figure in kPa (NIST SP 811:2008, appendix B.8); all are keyed in again."""
    from dataclasses import replace

    steps = Steps(0, 500 * step, step)
    entries = RampEntries(unit, steps, steps, Steps(0, 20, 1))
    holds = replace(TERN, vacuum=entries, entries=())
    ramp = VacuumRamp(20 * step * KPA[unit], 70 * step * KPA[unit], 12)
    fitted = fit_map(IgnitionMap(8, AdvanceCurve([500], [0]), vacuum=ramp, rev_limit_rpm=6000), holds)
    kept = replace(fitted, map=from_json(json.loads(json.dumps(to_json(fitted.map)))))
    assert [line.value_text for line in key_in_lines(kept, holds)] == [
        line.value_text for line in key_in_lines(fitted, holds)
    ]


# NIST SP 811:2008, appendix B.8, in kPa
KPA = {"inHg": 3.386389, "mmHg": 0.1333224, "psi": 6.894757, "bar": 100.0, "mbar": 0.1}


@pytest.mark.django_db
@pytest.mark.parametrize("holds", [TERN, FALLOW], ids=["from base", "from top dead centre"])
def test_a_released_version_is_keyed_in_as_when_it_was_released(actor, holds):
    version = released_version(
        actor,
        unit_revision=UnitTypeRevisionFactory(capability=capability_of(holds)),
        dwell_ms=3.0 if holds is FALLOW else None,
        rev_limit_manner="hard" if holds is FALLOW else "",
    )
    released = [line.value_text for line in lines_of(version)]
    version.refresh_from_db()
    assert [line.value_text for line in lines_of(version)] == released
    assert released
