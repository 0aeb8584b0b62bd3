"""What a map is judged by: read from the sheets and the car's record, each figure entered once."""

import pytest
from django.urls import reverse

from jobs.checklists.models import Outcome
from jobs.maps.car_values import car_values
from tests.checklists.factories import enter, sheet_with
from tests.factories import JobFactory, VehicleFactory
from tests.jobs_factories import FittedUnitFactory

pytestmark = pytest.mark.django_db

VOLTS = {"kind": "measure", "unit": "V", "decimals": 2}
INSPECTION = [
    {"key": "battery-12", **VOLTS},
    {"key": "cranking-12", **VOLTS},
    {"key": "charging-12", **VOLTS},
    {"key": "coil-primary", "kind": "measure", "unit": "ohm", "decimals": 2, "correction": "20 °C"},
    {"key": "ballast-resistance", "kind": "measure", "unit": "ohm", "decimals": 2},
    {"key": "idle-vacuum", "kind": "measure", "unit": "kPa", "quantity": "vacuum", "correction": "sea level"},
    {"key": "idle-speed", "kind": "measure", "unit": "rpm", "decimals": 0},
    {"key": "cap", "kind": "choice", "choices": ["sound", "none fitted"], "good_choices": ["sound", "none fitted"]},
    {"key": "rotor-tip", "kind": "measure", "unit": "mm", "required": False},
]
FITTING = [
    {"key": "feed-cranking-12", **VOLTS},
    {"key": "coil-primary", "kind": "measure", "unit": "ohm", "decimals": 2, "correction": "20 °C"},
    {"key": "ballast-route", "kind": "choice", "choices": ["kept", "out, new coil"]},
    {"key": "ballast-by-pass"},
    {"key": "vacuum-source", "kind": "choice", "choices": ["manifold", "throttle port", "one barrel"]},
    {"key": "trigger-edge", "kind": "measure", "unit": "° BTDC"},
    {"key": "advance-free-play", "kind": "measure", "unit": "distributor °", "high": 0.5, "hold_point": True},
]


@pytest.fixture
def job(workshop):
    vehicle = VehicleFactory(
        system_volts=12,
        engine__cylinders=4,
        coil__primary_ohm=3.0,
        coil__has_ballast=True,
        coil__ballast_ohm=1.6,
    )
    return JobFactory(stage="map", vehicle=vehicle)


@pytest.fixture
def inspected(job, mechanic):
    sheet = sheet_with(INSPECTION, person=mechanic, job=job, kind="inspection")
    return lambda key, **entry: enter(sheet, key, mechanic, **entry)


@pytest.fixture
def fitted(job, mechanic):
    sheet = sheet_with(FITTING, person=mechanic, job=job)
    return lambda key, **entry: enter(sheet, key, mechanic, **entry)


def again(job):
    return car_values(type(job).objects.get(pk=job.pk))


def row(values, label):
    return next(row for row in values.rows if row.label == label)


def test_the_voltages_measured_on_this_car_are_those_of_its_map(job, inspected):
    for key, volts in (("battery-12", 12.55), ("cranking-12", 10.2), ("charging-12", 13.9)):
        inspected(key, measure=volts)
    values = again(job)
    assert dict(values.voltages.measured) == {"cranking": 10.2, "resting": 12.55, "charging": 13.9}
    assert values.coil.cranking_v == 10.2
    assert values.circuit.supply_v == 13.9


def test_a_voltage_nobody_measured_is_taken_as_usual_and_says_so(job):
    values = again(job)
    assert values.voltages.measured == ()
    assert row(values, "Charging").instead == "14.2 V taken, as usual"
    assert values.coil.cranking_v is None  # whether it starts is not judged by a guess


def test_six_volts_are_half_of_twelve(job):
    type(job.vehicle).objects.update(system_volts=6)
    assert dict(again(job).usual.measured) == {"cranking": 4.5, "resting": 6.3, "charging": 7.1}


def test_the_feed_measured_with_the_unit_fitted_comes_before_the_inspection(job, inspected, fitted):
    inspected("cranking-12", measure=10.2)
    fitted("feed-cranking-12", measure=9.8)
    values = again(job)
    assert values.coil.cranking_v == 9.8
    assert row(values, "Cranking").place == "fitting sheet"


def test_a_voltage_that_the_units_switch_would_take_whole_stops_no_page(job, inspected):
    inspected("cranking-12", measure=0.8)  # 10.8, typed with a slip
    assert again(job).coil.cranking_v is None


def test_a_coil_measured_hot_is_corrected_to_20_degrees_and_to_work(job, inspected):
    """Handbook, section 10: 1.5 ohm at 80 °C is 1.8537 (IEC 60028, 0.00393 per degree); at 70 °C 1.79475, by hand."""
    inspected("coil-primary", measure=1.8537, beside=80.0)
    values = again(job)
    assert values.circuit.resistance_ohm == pytest.approx(1.79475, abs=1e-4)
    assert values.coil.cold_ohm == 1.8537  # the cranking check takes it as it was measured
    assert row(values, "Coil primary").detail == "1.50 ohm at 20 °C, 1.79 ohm at 70 °C"


def test_a_coil_nobody_measured_is_that_of_the_cars_record(job):
    values = again(job)
    assert values.coil.cold_ohm == 3.0
    assert row(values, "Coil primary").place == "car data"


def test_a_measured_ballast_counts_and_a_by_passed_one_not_while_cranking(job, inspected, fitted):
    inspected("ballast-resistance", measure=1.5)
    inspected("cranking-12", measure=10.0)
    assert again(job).coil.cranking.ballast_ohm == 1.5
    fitted("ballast-by-pass")
    values = again(job)
    assert values.coil.cranking.ballast_ohm == 0.0
    assert values.circuit.ballast_ohm == 1.5
    assert row(values, "By-pass while cranking").text == "works"


def test_a_by_pass_that_was_overridden_is_none(job, inspected, fitted, owner):
    inspected("cranking-12", measure=10.0)
    fitted("ballast-by-pass", outcome=Outcome.NOT_POSSIBLE, note="no wire on 15a")
    assert again(job).coil.cranking.ballast_ohm == 1.6
    assert row(again(job), "By-pass while cranking").text == "does not work"


def test_a_ballast_taken_out_at_the_fitting_is_out_of_the_circuit(job, fitted):
    fitted("ballast-route", choice="out, new coil")
    values = again(job)
    assert values.circuit.ballast_ohm == 0.0
    assert row(values, "Ballast").text == "none"


@pytest.mark.parametrize(
    ("choice", "port", "at_idle"),
    [("manifold", "manifold", 60.0), ("throttle port", "throttle", 0.0), ("one barrel", "manifold", 60.0)],
)
def test_where_the_pipe_is_says_what_vacuum_idle_has(job, inspected, fitted, choice, port, at_idle):
    inspected("idle-vacuum", measure=60.0, unit="kPa")
    fitted("vacuum-source", choice=choice)
    engine = again(job).engine
    assert (engine.vacuum_port, engine.vacuum_at_idle_kpa) == (port, at_idle)


def test_a_unit_without_a_vacuum_part_is_not_asked_where_its_pipe_is(job, actor):
    from garage.units.capability import capability_of
    from garage.units.examples import TERN
    from jobs.job.actions import choose_unit

    assert any(row.label == "Vacuum pipe on" for row in again(job).rows)
    capability = capability_of(TERN)
    words = [entry for entry in capability["entries"] if not entry["key"].startswith("vacuum")]
    unit = FittedUnitFactory(revision__capability=capability | {"vacuum": None, "entries": words})
    choose_unit(job=job, unit=unit, actor=actor)
    assert not any(row.label == "Vacuum pipe on" for row in again(job).rows)


def test_the_triggers_edge_is_where_the_fitting_sheet_says(job, fitted):
    fitted("trigger-edge", measure=20.0)
    values = again(job)
    assert values.engine.trigger_deg == 20.0
    assert row(values, "Trigger edge").text == "20.0° BTDC"


@pytest.mark.parametrize(("play", "locked", "said"), [(0.2, True, "locked"), (1.5, False, "not locked")])
def test_the_mechanism_is_locked_once_the_free_play_passes(job, fitted, play, locked, said):
    assert again(job).engine.rotor.is_locked is False
    fitted("advance-free-play", measure=play)
    values = again(job)
    assert values.engine.rotor.is_locked is locked
    assert row(values, "Advance mechanism").text == said


def test_a_cap_that_is_not_there_means_no_rotor_and_a_twin_of_that_kind_wastes_a_spark(job, inspected):
    type(job.vehicle.engine).objects.update(cylinders=2)
    assert again(job).engine.has_distributor
    inspected("cap", choice="none fitted")
    values = again(job)
    assert not values.engine.has_distributor
    assert values.engine.wasted_spark
    assert (row(values, "Rotor").text, row(values, "Rotor").place) == ("no rotor", "inspection sheet")


def test_a_four_without_a_rotor_is_not_taken_for_one_that_wastes_sparks(job, inspected):
    inspected("cap", choice="none fitted")
    assert not again(job).engine.wasted_spark


def test_a_tip_measured_at_the_inspection_is_that_of_the_rotor(job, inspected):
    inspected("rotor-tip", measure=7.0)
    assert again(job).engine.rotor.tip_width_mm == 7.0
    type(job.vehicle.distributor).objects.update(rotor_tip_width_mm=8.0)
    assert again(job).engine.rotor.tip_width_mm == 8.0


def test_an_idle_speed_that_the_record_lacks_is_that_of_the_inspection(job, inspected):
    inspected("idle-speed", measure=850)
    assert again(job).engine.idle_rpm == 850


def test_a_slipped_sign_on_a_sheet_stops_no_page(job, inspected):
    inspected("idle-speed", measure=-850)
    inspected("ballast-resistance", measure=-1.5)
    values = again(job)
    assert values.engine.idle_rpm is None
    assert values.coil.primary.ballast_ohm == 1.6  # as the record says


def test_every_row_leads_to_where_its_figure_stands_or_is_entered(job, inspected, mechanic):
    inspected("battery-12", measure=12.55)
    values = again(job)
    inspection, fitting = reverse("inspection:sheet", args=[job.code]), reverse("fitting:page", args=[job.code])
    record = reverse("vehicles:edit", args=[job.vehicle.pk])
    at_rest = row(values, "Battery at rest")
    assert (at_rest.text, at_rest.by) == ("12.55 V", mechanic.name)
    assert at_rest.url == f"{inspection}#item-battery-12"
    assert row(values, "Charging").url == f"{inspection}#item-charging-12"
    assert row(values, "Trigger edge").url == fitting  # no fitting sheet yet: its page begins one
    assert row(values, "Coil inductance").url == f"{record}#id_coil-inductance_mh"


def test_a_finding_that_lacks_a_figure_leads_to_where_it_is_entered(job, inspected):
    places = again(job).places
    assert places["missing-idle-vacuum"].endswith("#item-idle-vacuum")
    assert places["missing-red-line"].endswith("#id_engine-red_line_rpm")


def test_what_two_people_entered_differently_is_no_figure_until_they_agree(job, inspected, second_mechanic):
    first = inspected("battery-12", measure=12.55)
    enter(first.sheet, "battery-12", second_mechanic, measure=11.9, replaces=[])
    assert again(job).voltages.resting_v is None
