"""A measure is a canonical figure and the unit it was read in: as the page asked, or as somebody wrote beside it.

Factors: NIST SP 811 (2008), appendix B.8, conventional columns of mercury; pint's registry is the second opinion.
"""

import re
import uuid

import pint
import pytest
from django import forms
from django.core.exceptions import ValidationError
from django.urls import reverse

from garage.models import Staff, Vehicle
from garage.people.models import VacuumUnit
from garage.quantities.fields import MeasureField, MeasuringForm
from garage.quantities.limits import Between
from garage.quantities.measure import PRESSURE, QUANTITIES, VACUUM, Measure, Quantity
from jobs.maps.models import BoostUnit
from jobs.roadtest.models import RoadNote
from jobs.strobe.models import Purpose, StrobeReading
from tests.jobs_factories import released_version

JUDGE = pint.UnitRegistry()
PINT_NAME = {"kPa": "kilopascal", "inHg": "inHg", "mmHg": "mmHg", "mbar": "millibar", "bar": "bar", "psi": "psi"}


class Reading(MeasuringForm):
    vacuum_kpa = MeasureField(quantity=VACUUM, unit="inHg", required=False, validators=[Between(0, 100, "kPa")])


class Gauge(MeasuringForm):
    gauge_kpa = MeasureField(quantity=PRESSURE, unit="kPa", unit_name="entered_unit", choose=True)


@pytest.mark.parametrize(("quantity", "unit"), [(one, unit) for one in QUANTITIES.values() for unit in one.units])
def test_a_figure_in_any_unit_of_its_quantity_is_canonical_as_pint_says(quantity, unit):
    measure = Measure.read(12.5, unit, quantity)
    assert measure.value == pytest.approx(JUDGE.Quantity(12.5, PINT_NAME[unit]).to("kilopascal").magnitude, rel=1e-9)
    assert measure.figure == pytest.approx(12.5, rel=1e-12)
    assert measure.text == f"12.5 {unit}"


def test_a_quantity_of_one_unit_is_only_a_figure_in_it():
    volts = Quantity.plain("V")
    assert Measure.read(12.58, "V", volts) == Measure(12.58, "V", volts)
    with pytest.raises(ValueError, match="psi"):
        Measure.read(1, "psi", volts)


def test_the_choices_of_the_models_are_those_of_the_quantities():
    assert list(VacuumUnit.values) == list(VACUUM.units)
    assert list(BoostUnit.values) == list(PRESSURE.units)


def test_a_page_carries_the_unit_it_asks_in():
    page = str(Reading()["vacuum_kpa"])
    assert '<input type="hidden" name="vacuum_kpa_unit" value="inHg">' in page


def test_the_unit_the_page_was_filled_in_counts_and_not_the_one_of_the_moment():
    shown = Reading()  # in inches of mercury; meanwhile the person changes to kPa
    answered = Reading({"vacuum_kpa": "20", "vacuum_kpa_unit": shown["vacuum_kpa"].field.unit})
    answered.fields["vacuum_kpa"].unit = "kPa"
    assert answered.is_valid(), answered.errors
    assert answered.cleaned_data["vacuum_kpa"] == pytest.approx(67.727773, rel=1e-7)
    assert answered.cleaned_data["vacuum_unit"] == "inHg"


def test_a_unit_typed_beside_the_figure_is_the_unit_kept():
    form = Reading({"vacuum_kpa": "400 mbar", "vacuum_kpa_unit": "inHg"})
    assert form.is_valid(), form.errors
    assert form.cleaned_data == {"vacuum_kpa": 40.0, "vacuum_unit": "mbar"}


def test_nothing_typed_is_nothing_kept():
    form = Reading({"vacuum_kpa": "", "vacuum_kpa_unit": "inHg"})
    assert form.is_valid()
    assert form.cleaned_data == {"vacuum_kpa": None, "vacuum_unit": ""}


@pytest.mark.parametrize("carried", [{}, {"vacuum_kpa_unit": "furlongs"}, {"vacuum_kpa_unit": ""}])
def test_a_figure_without_a_unit_that_anybody_knows_is_asked_again(carried):
    form = Reading({"vacuum_kpa": "20", **carried})
    assert "arrived incomplete" in str(form.errors["vacuum_kpa"])
    assert Reading({"vacuum_kpa": "20 kPa", **carried}).is_valid()


def test_a_refused_figure_comes_back_in_the_unit_it_was_typed_for():
    page = str(Reading({"vacuum_kpa": "twenty", "vacuum_kpa_unit": "mbar"})["vacuum_kpa"])
    assert 'value="twenty"' in page
    assert 'name="vacuum_kpa_unit" value="mbar"' in page


def test_limits_are_held_against_the_canonical_figure():
    form = Reading({"vacuum_kpa": "32", "vacuum_kpa_unit": "inHg"})
    assert form.errors["vacuum_kpa"] == ["Must be between 0 and 29.5 inHg."]


def test_what_was_shown_and_not_touched_is_the_same_to_the_last_digit():
    kept = 33.8638864034123  # shown in fewer digits than it has
    shown = Reading(initial={"vacuum_kpa": kept})["vacuum_kpa"].field.prepare_value(kept)
    again = Reading({"vacuum_kpa": shown, "vacuum_kpa_unit": "inHg"}, initial={"vacuum_kpa": kept})
    assert again.is_valid()
    assert again.cleaned_data["vacuum_kpa"] == kept


def test_where_the_form_lets_one_choose_the_unit_is_a_choice_beside_the_box():
    page = str(Gauge({"gauge_kpa": "165", "gauge_kpa_unit": "psi"})["gauge_kpa"])
    assert re.search(r'<select name="gauge_kpa_unit"[^>]*aria-label="Unit"', page)
    assert '<option value="psi" selected>psi</option>' in page
    assert re.findall(r"<option value=\"(\w+)\"", page) == ["kPa", "bar", "psi"]


def test_the_unit_has_the_name_that_its_column_has():
    form = Gauge({"gauge_kpa": "165", "gauge_kpa_unit": "psi"})
    assert form.is_valid(), form.errors
    assert form.cleaned_data["entered_unit"] == "psi"


def test_half_a_million_blanks_after_a_figure_are_refused_and_hold_nobody_up():
    # read in steps that grow with their square, this would not end today
    with pytest.raises(ValidationError, match="Enter a figure in kPa"):
        MeasureField(quantity=VACUUM, unit="kPa").clean(f"12{' ' * 500_000}!")
    assert MeasureField(quantity=VACUUM, unit="kPa").clean(f"12{' ' * 500_000}kPa ") == 12


def test_a_unit_of_another_quantity_is_refused_with_those_that_fit():
    with pytest.raises(ValidationError, match="kPa, inHg, mmHg"):
        MeasureField(quantity=VACUUM, unit="kPa").clean("12 furlongs")


def test_a_form_without_the_measuring_part_is_a_mistake_of_its_writer():
    class Plain(forms.Form):
        vacuum_kpa = MeasureField(quantity=VACUUM, unit="kPa")

    with pytest.raises(TypeError, match="MeasuringForm"):
        Plain()["vacuum_kpa"]


# --- in the rooms ---------------------------------------------------------------------------------------------------


def changes_unit(person, unit):
    Staff.objects.filter(pk=person.pk).update(vacuum_unit=unit)


def carried(page):
    """What the boxes for vacuum of a page carry beside them."""
    return dict(
        re.findall(r'<input type="hidden" name="([\w-]*vacuum_kpa_unit|[\w-]*capsule_\w+_unit)" value="(\w+)">', page)
    )


@pytest.fixture
def version(actor, db):
    return released_version(actor)


def test_a_strobe_reading_is_kept_in_the_unit_of_its_page(browser_of, mechanic, version, actor):
    from jobs.strobe.actions import begin_map_session

    session = begin_map_session(
        job=version.job, purpose=Purpose.SWEEP, version_id=version.pk, version_words="version 1",
        idempotency_key=uuid.uuid4(), actor=actor,
    )  # fmt: skip
    client = browser_of(mechanic)
    page = carried(client.get(reverse("strobe:session", args=[version.job.code, session.pk])).text)
    changes_unit(mechanic, "inHg")
    form = {"id": uuid.uuid4(), "rpm": "2000", "measured_deg": "24", "vacuum_kpa": "20"}
    client.post(reverse("strobe:add-reading", args=[version.job.code, session.pk]), form | page)
    reading = StrobeReading.objects.get()
    assert (reading.vacuum_kpa, reading.vacuum_unit) == (20, "kPa")


def test_a_road_note_is_kept_in_the_unit_of_its_page_or_in_the_one_typed(
    browser_of, mechanic, second_mechanic, version, actor
):
    from jobs.roadtest.actions import begin_run

    run = begin_run(
        job=version.job, version_id=version.pk, version_words="version 1", route="Quarry hill", driver=second_mechanic,
        writer=mechanic, idempotency_key=uuid.uuid4(), actor=actor,
    )  # fmt: skip
    client = browser_of(mechanic)
    page = carried(client.get(reverse("roadtest:run", args=[run.job.code, run.pk])).text)
    changes_unit(mechanic, "inHg")
    form = {"kind": "pinking", "severity": 2, "rpm": "2600"}
    for typed in ("20", "12 inHg"):
        note = form | page | {"id": uuid.uuid4(), "vacuum_kpa": typed}
        assert client.post(reverse("roadtest:note", args=[run.job.code, run.pk]), note).status_code == 302
    first, second = RoadNote.objects.order_by("made_at")
    assert (first.vacuum_kpa, first.vacuum_unit) == (20, "kPa")
    assert (second.vacuum_kpa, second.vacuum_unit) == (pytest.approx(40.63666, rel=1e-6), "inHg")
    assert "12 inHg" in run.job.journal.last().sentence


def test_a_capsule_is_kept_and_shown_in_the_unit_it_was_written_in(browser_of, mechanic, customer):
    client = browser_of(mechanic)
    page = carried(client.get(reverse("vehicles:new")).text)
    assert set(page.values()) == {"kPa"}
    changes_unit(mechanic, "mbar")
    form = {
        "idempotency_key": uuid.uuid4(), "customer": customer.pk, "registration": "KLM 204 B", "maker": "Alder",
        "model": "1500", "engine-strokes": "4", "distributor-capsule_start_kpa": "14",
        "distributor-capsule_full_kpa": "12 inHg",
    }  # fmt: skip
    client.post(reverse("vehicles:new"), form | page)
    part = Vehicle.objects.get().distributor
    assert (part.capsule_start_kpa, part.capsule_start_unit) == (14, "kPa")
    assert (part.capsule_full_kpa, part.capsule_full_unit) == (pytest.approx(40.63666, rel=1e-6), "inHg")
    shown = client.get(reverse("vehicles:detail", args=[part.vehicle_id])).text
    assert "starts at 14 kPa, full at 12 inHg" in shown
    edited = client.get(reverse("vehicles:edit", args=[part.vehicle_id])).text
    assert carried(edited) == {"distributor-capsule_start_kpa_unit": "kPa", "distributor-capsule_full_kpa_unit": "inHg"}


@pytest.fixture
def customer(db):
    from tests.factories import CustomerFactory

    return CustomerFactory()
