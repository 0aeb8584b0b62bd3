"""Which items apply to which car."""

import pytest

from garage.vehicles.facts import has_rotor, trigger_place
from jobs.checklists.applies import applies, check_rule, facts_of, in_words
from jobs.checklists.sheet import sheet_of
from tests.checklists.factories import enter, sheet_with
from tests.factories import JobFactory

UNKNOWN = dict.fromkeys(
    ["earth_polarity", "system_volts", "trigger", "ballast", "tachometer", "cylinders", "unit_vacuum"]
)


@pytest.mark.parametrize(
    ("rule", "known", "holds"),
    [
        ({}, {}, True),
        ({"earth_polarity": ["positive"]}, {"earth_polarity": "positive"}, True),
        ({"earth_polarity": ["positive"]}, {"earth_polarity": "negative"}, False),
        ({"system_volts": [6]}, {"system_volts": 6}, True),
        ({"system_volts": [6]}, {"system_volts": 12}, False),
        ({"ballast": [True]}, {"ballast": True}, True),
        ({"ballast": [True]}, {"ballast": False}, False),
        ({"tachometer": ["coil current"]}, {"tachometer": "coil current"}, True),
        ({"tachometer": ["coil current"]}, {"tachometer": "mechanical"}, False),
        ({"cylinders": [6, 8]}, {"cylinders": 8}, True),
        ({"cylinders": [6, 8]}, {"cylinders": 4}, False),
        ({"trigger": ["hall", "optical"]}, {"trigger": "optical"}, True),
        ({"unit_vacuum": ["table"]}, {"unit_vacuum": "ramp"}, False),
        # all of a rule must hold
        (
            {"system_volts": [6], "earth_polarity": ["positive"]},
            {"system_volts": 6, "earth_polarity": "positive"},
            True,
        ),
        (
            {"system_volts": [6], "earth_polarity": ["positive"]},
            {"system_volts": 6, "earth_polarity": "negative"},
            False,
        ),
        # one known fact that speaks against it decides, whatever else is not known
        ({"system_volts": [6], "earth_polarity": ["positive"]}, {"system_volts": 12}, False),
    ],
)
def test_an_item_applies_when_every_fact_of_its_rule_holds(rule, known, holds):
    assert applies(rule, UNKNOWN | known).holds is holds


def test_what_is_not_known_of_the_car_does_not_hide_the_item_and_is_named():
    found = applies({"system_volts": [6], "ballast": [True]}, UNKNOWN | {"system_volts": 6})
    assert found.holds
    assert found.because == "Shown because the ballast of this car is not known."


def test_a_rule_reads_as_words():
    assert in_words({"earth_polarity": ["positive"], "cylinders": [6, 8]}) == "positive earth, and 6 or 8"


@pytest.mark.parametrize(
    ("rule", "sentence"),
    [
        ({"colour": ["red"]}, "No fact of a car is called 'colour'"),
        ({"system_volts": [24]}, "6, 12"),
        ({"ballast": []}, "ballast"),
        (["positive"], "mapping"),
    ],
)
def test_a_rule_that_asks_for_what_no_car_has_is_refused(rule, sentence):
    with pytest.raises(ValueError, match=sentence):
        check_rule(rule)


@pytest.mark.django_db
def test_the_facts_come_from_car_engine_distributor_coil_and_unit():
    from tests.jobs_factories import FittedUnitFactory

    job = JobFactory(unit=FittedUnitFactory(), vehicle__earth_polarity="positive", vehicle__system_volts=6)
    vehicle = job.vehicle
    vehicle.engine.cylinders, vehicle.distributor.trigger, vehicle.coil.has_ballast = 2, "contact breaker", False
    part = job.unit.revision.capability["vacuum"]
    assert facts_of(job) == {
        "earth_polarity": "positive",
        "system_volts": 6,
        "job_kind": "conversion",
        "trigger": "contact breaker",
        "trigger_place": "distributor",  # a contact breaker sits nowhere else
        "rotor": None,  # a twin has one or has none
        "ballast": False,
        "bypass": False,  # there is nothing to by-pass
        "charging": None,
        "tachometer": None,
        "cylinders": 2,
        "unit_vacuum": part["kind"] if part else "none",
    }


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("cylinders", "told", "rotor"),
    [(1, None, False), (2, None, None), (3, None, True), (8, None, True), (None, None, None), (4, False, False),
     (1, True, True), (2, False, False)],
)  # fmt: skip
def test_a_rotor_goes_without_saying_where_nothing_else_is_usual(cylinders, told, rotor):
    vehicle = JobFactory().vehicle
    vehicle.engine.cylinders, vehicle.distributor.has_rotor = cylinders, told
    assert has_rotor(vehicle) is rotor


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("kind", "told", "place"),
    [("contact breaker", "", "distributor"), ("hall", "", None), ("", "", None), ("inductive", "distributor",
     "distributor"), ("contact breaker", "crank or camshaft", "crank or camshaft")],
)  # fmt: skip
def test_where_the_trigger_sits_is_told_and_goes_without_saying_for_contacts_alone(kind, told, place):
    vehicle = JobFactory().vehicle
    vehicle.distributor.trigger, vehicle.distributor.trigger_place = kind, told
    assert trigger_place(vehicle) == place


@pytest.mark.django_db
def test_an_item_that_was_answered_stays_in_sight_when_the_car_turns_out_not_to_need_it(mechanic):
    job = JobFactory(stage="fitting")
    sheet = sheet_with([{"key": "six-volt", "applies": {"system_volts": [6]}}], person=mechanic, job=job)
    enter(sheet, "six-volt", mechanic)
    job.vehicle.system_volts = 12
    job.vehicle.save()
    [line] = sheet_of(type(sheet).objects.get(pk=sheet.pk)).lines
    assert not line.applies.holds
    assert line.is_done
