"""What a unit can hold: described by the owner, kept by revision, read back as it was written."""

import json
import uuid
from dataclasses import replace

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from garage.models import FittedUnit, UnitType, UnitTypeRevision
from garage.record.idempotency import SentBeforeError
from garage.units import actions
from garage.units.actions import NAME_TAKEN
from garage.units.capability import capability_of, unit_type_from
from garage.units.examples import EXAMPLES, FALLOW, QUILL, TERN
from garage.units.forms import UnitTypeForm, initial_of
from tests.jobs_factories import FittedUnitFactory, UnitTypeRevisionFactory
from tests.maps import said
from tests.pages import FILL_IN, assert_not_open, text_of
from timing.unit import Steps, UnitError


@pytest.mark.parametrize("holds", EXAMPLES.values(), ids=list(EXAMPLES))
def test_a_description_comes_back_from_the_database_as_it_went_in(holds):
    assert unit_type_from(json.loads(json.dumps(capability_of(holds)))) == holds


def test_an_entry_for_the_delay_is_described_and_what_was_described_before_is_unchanged_to_the_letter():
    """The content hash of a released version covers the description of its unit."""
    told = replace(TERN, takes_delay=True)
    assert unit_type_from(json.loads(json.dumps(capability_of(told)))).takes_delay
    assert "takes_delay" not in capability_of(TERN)
    assert not unit_type_from(capability_of(TERN)).takes_delay


@pytest.mark.django_db
def test_the_owner_says_whether_the_unit_has_an_entry_for_the_delay():
    shown = UnitTypeForm(initial={"name": "Any", **initial_of(replace(TERN, takes_delay=True))})
    sent = UnitTypeForm(typed(shown))
    assert sent.is_valid(), sent.errors
    assert sent.cleaned_data["holds"].takes_delay


def test_the_examples_differ_in_every_respect():
    types = list(EXAMPLES.values())
    for respect in ("nodes", "degree", "base", "vacuum", "boost", "dwell_ms", "rev_limit_rpm", "rev_limit_manners"):
        found = [getattr(holds, respect) for holds in types]
        assert all(found.count(one) == 1 for one in found), respect
    assert {holds.counted_from for holds in types} == {"base", "absolute"}
    words = [entry.words for holds in types for entry in holds.entries]
    assert len(words) == len(set(words))


def test_a_stored_description_that_cannot_be_read_says_so():
    with pytest.raises(UnitError, match="cannot be read"):
        unit_type_from({"nodes": {}})


def typed(form: UnitTypeForm) -> dict[str, object]:
    """The form as a browser sends it back untouched."""
    data: dict[str, object] = {}
    for bound in form:
        value = bound.value()
        if isinstance(value, Steps):
            data |= {f"{bound.name}_low": value.low, f"{bound.name}_high": value.high, f"{bound.name}_step": value.step}
        elif value is True:
            data[bound.name] = "on"
        elif value not in (None, False):
            data[bound.name] = bound.field.prepare_value(value)
    return data


@pytest.mark.django_db
@pytest.mark.parametrize("holds", EXAMPLES.values(), ids=list(EXAMPLES))
def test_a_type_shown_in_the_form_and_sent_back_is_the_same_type(holds):
    shown = UnitTypeForm(initial={"name": "Any", **initial_of(holds)})
    form = UnitTypeForm(typed(shown))
    assert form.is_valid(), form.errors
    assert form.cleaned_data["holds"] == holds


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("changed", "field", "refusal"),
    [
        ({"degree_step": ""}, "degree", "Fill in all three: from, to, step."),
        ({"degree_high": "40.5"}, "degree", "40.5 is not on a step of 1 from 0: the last one is 40."),
        ({"fixed_rpm": "500, 400"}, "__all__", "The speeds of the nodes must rise, but 400 rpm comes after 500 rpm."),
        ({"fixed_rpm": "500, fast"}, "fixed_rpm", "‘fast’ is not a figure."),
        ({"fixed_rpm": ""}, "fixed_rpm", "Speeds of the points: needed."),
        (
            {"rev_limit_manners": []},
            "__all__",
            "A unit with a rev limit says whether it is soft or hard, and one without",
        ),
        ({"vacuum_start_low": ""}, "vacuum_start", "Fill in all three: from, to, step."),
        ({"fixed_rpm": "500, 50000"}, "fixed_rpm", "Must be between 0 and 15000 rpm."),
        ({"degree_high": "400"}, "degree", "Must be between −60 and 60 degrees."),
        ({"degree_step": "500"}, "degree", "A step of 500 does not fit between 0 and 40."),
        ({"rev_limit_rpm_high": "90000"}, "rev_limit_rpm", "Must be between 0 and 15000 rpm."),
        # By hand: 110 kPa and 3.386 389 kPa to the inch (NIST SP 811) are 32.5 inHg
        ({"vacuum_full_high": "250"}, "vacuum_full", "Must be between 0 and 32.5 inHg."),
    ],
)
def test_a_description_that_contradicts_itself_is_refused_with_the_reason(changed, field, refusal):
    data = typed(UnitTypeForm(initial={"name": "Any", **initial_of(TERN)})) | changed
    form = UnitTypeForm(data)
    assert not form.is_valid()
    assert any(message.startswith(refusal) for message in form.errors[field])


@pytest.fixture
def owner_at_desk(browser_of, owner):
    return browser_of(owner)


def form_for(holds, name: str, **changed) -> dict[str, object]:
    data = typed(UnitTypeForm(initial={"name": name, **initial_of(holds)}))
    return {**data, "idempotency_key": str(uuid.uuid4()), **changed}


def test_the_owner_describes_a_unit_type_once_however_often_the_form_is_sent(owner_at_desk):
    form = form_for(QUILL, "Quill 6")
    for _ in range(2):
        answer = owner_at_desk.post(reverse("units:new-type"), form)
        assert answer.status_code == 302
    assert UnitType.objects.count() == 1
    assert UnitTypeRevision.objects.get().holds() == QUILL


def test_a_name_that_is_taken_is_refused_and_nothing_typed_is_lost(owner_at_desk):
    UnitTypeRevisionFactory(unit_type__name="Quill 6")
    answer = owner_at_desk.post(reverse("units:new-type"), form_for(QUILL, "quill 6"))
    assert answer.status_code == 422
    assert NAME_TAKEN in answer.content.decode()
    assert f'value="{said.entry(QUILL, "node").words}"' in answer.content.decode()


def test_a_new_revision_leaves_what_was_fitted_by_the_old_one_as_it_was(owner_at_desk):
    unit = FittedUnitFactory()
    kind = unit.revision.unit_type
    form = form_for(FALLOW, kind.name, reason="finer steps")
    answer = owner_at_desk.post(reverse("units:revise", args=[kind.pk]), form)
    assert answer.status_code == 302
    unit.refresh_from_db()
    assert unit.revision.number == 1
    assert unit.revision.holds() == TERN
    assert kind.revisions.first().holds() == FALLOW


def test_a_revision_needs_its_reason(owner_at_desk):
    kind = UnitTypeRevisionFactory().unit_type
    answer = owner_at_desk.post(reverse("units:revise", args=[kind.pk]), form_for(FALLOW, kind.name, reason=""))
    assert answer.status_code == 422
    assert FILL_IN in text_of(answer)
    assert kind.revisions.count() == 1


def test_a_revision_never_changes(db):
    revision = UnitTypeRevisionFactory()
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        UnitTypeRevision.objects.filter(pk=revision.pk).update(capability=capability_of(QUILL))


def test_a_mechanic_enters_units_but_describes_no_type(browser_of, mechanic):
    assert_not_open(browser_of(mechanic).get(reverse("units:new-type")))
    revision = UnitTypeRevisionFactory()
    idempotency_key = str(uuid.uuid4())
    for _ in range(2):
        answer = browser_of(mechanic).post(
            reverse("units:new-fitted"),
            {"revision": revision.pk, "serial_number": "T-0017", "idempotency_key": idempotency_key},
        )
    unit = FittedUnit.objects.get()
    assert answer.headers["Location"] == reverse("units:fitted", args=[unit.pk])


def test_two_units_of_a_type_never_share_a_serial_number(browser_of, mechanic):
    unit = FittedUnitFactory(serial_number="T-0017")
    form = {"revision": unit.revision_id, "serial_number": "t-0017", "idempotency_key": str(uuid.uuid4())}
    answer = browser_of(mechanic).post(reverse("units:new-fitted"), form)
    assert answer.status_code == 422
    assert "serial_number" in answer.context["form"].errors
    assert FittedUnit.objects.count() == 1


def test_a_unit_entered_on_the_way_leads_back_to_the_job_and_nowhere_else(browser_of, mechanic):
    revision = UnitTypeRevisionFactory()
    for onward, target in [("/jobs/26-0001/unit/", "/jobs/26-0001/unit/"), ("https://elsewhere.example/", "/units/")]:
        form = {"revision": revision.pk, "serial_number": onward[:8], "idempotency_key": str(uuid.uuid4())}
        answer = browser_of(mechanic).post(reverse("units:new-fitted") + f"?next={onward}", form)
        assert answer.headers["Location"].startswith(target)


def test_a_retired_type_is_offered_no_more_for_new_units(owner_at_desk):
    kind = UnitTypeRevisionFactory().unit_type
    owner_at_desk.post(reverse("units:retire", args=[kind.pk]), {"retired": "yes"})
    from garage.units.forms import newest_revisions

    assert not newest_revisions().exists()


def test_notes_two_people_write_at_once_are_both_seen(browser_of, mechanic, second_mechanic):
    unit = FittedUnitFactory()
    page = reverse("units:fitted", args=[unit.pk])
    browser_of(mechanic).post(page, {"notes": "cracked case", "row_version": 1})
    answer = browser_of(second_mechanic).post(page, {"notes": "loose plug", "row_version": 1})
    assert answer.status_code == 409
    assert "cracked case" in answer.content.decode()
    assert "loose plug" in answer.content.decode()


def test_the_list_of_a_new_workshop_says_what_it_is_for(owner_at_desk):
    page = owner_at_desk.get(reverse("units:list")).content.decode()
    assert "No unit types yet" in page


def test_a_unit_put_in_a_car_and_taken_out_is_no_longer_on_the_shelf(actor):
    from tests.factories import VehicleFactory

    unit, car = FittedUnitFactory(), VehicleFactory()
    actions.put_in_car(unit=unit, vehicle=car, actor=actor)
    actions.take_out(unit=unit, actor=actor)
    unit.refresh_from_db()
    assert (unit.vehicle, unit.removed_at) == (car, actor.at)


def test_the_unit_a_job_chooses_is_in_its_car_and_the_one_before_has_come_out(actor):
    from jobs.job.actions import choose_unit
    from tests.factories import JobFactory

    job, first, second = JobFactory(), FittedUnitFactory(), FittedUnitFactory()
    choose_unit(job=job, unit=first, actor=actor)
    choose_unit(job=job, unit=second, actor=actor)
    first.refresh_from_db()
    second.refresh_from_db()
    assert first.removed_at == actor.at
    assert (second.vehicle, second.removed_at) == (job.vehicle, None)


def test_a_sound_unit_that_came_out_goes_back_on_the_shelf(browser_of, mechanic, actor):
    from tests.factories import VehicleFactory

    unit = FittedUnitFactory()
    actions.put_in_car(unit=unit, vehicle=VehicleFactory(), actor=actor)
    actions.take_out(unit=unit, actor=actor)
    browser_of(mechanic).post(reverse("units:back-on-shelf", args=[unit.pk]))
    unit.refresh_from_db()
    assert (unit.vehicle, unit.removed_at) == (None, None)


def test_notes_sent_twice_by_a_double_tap_are_no_clash(browser_of, mechanic):
    unit = FittedUnitFactory()
    form = {"notes": "The lid is scratched.", "row_version": unit.row_version}
    for _ in range(2):
        assert browser_of(mechanic).post(reverse("units:fitted", args=[unit.pk]), form).status_code == 302
    unit.refresh_from_db()
    assert unit.row_version == 2


def test_another_unit_typed_into_an_old_page_is_refused_instead_of_lost(browser_of, mechanic):
    form = {"idempotency_key": uuid.uuid4(), "revision": UnitTypeRevisionFactory().pk, "serial_number": "F4410"}
    client = browser_of(mechanic)
    for _ in range(2):
        assert client.post(reverse("units:new-fitted"), form).status_code == 302
    answer = client.post(reverse("units:new-fitted"), form | {"serial_number": "F4411"})
    assert answer.status_code == 409
    assert "sent before with other entries" in answer.content.decode()
    assert FittedUnit.objects.get().serial_number == "F4410"


def test_of_two_people_with_one_unit_in_hand_the_second_is_told(actor):
    revision = UnitTypeRevisionFactory()
    unit = {"revision": revision, "serial_number": "F4410", "notes": "", "actor": actor}
    actions.enter_unit(idempotency_key=uuid.uuid4(), **unit)
    with pytest.raises(actions.UnitRuleError, match="already has this serial number"):
        actions.enter_unit(idempotency_key=uuid.uuid4(), **unit | {"serial_number": "f4410"})


def test_another_description_on_an_old_page_is_refused_instead_of_lost(actor):
    idempotency_key = uuid.uuid4()
    first = actions.describe_unit_type(name="Heron 8", holds=TERN, actor=actor, idempotency_key=idempotency_key)
    assert actions.describe_unit_type(name="Heron 8", holds=TERN, actor=actor, idempotency_key=idempotency_key) == first
    with pytest.raises(SentBeforeError):
        actions.describe_unit_type(name="Heron 8", holds=QUILL, actor=actor, idempotency_key=idempotency_key)
    with pytest.raises(SentBeforeError):
        actions.revise_unit_type(
            unit_type=first.unit_type, holds=QUILL, reason="", actor=actor, idempotency_key=idempotency_key
        )


def test_of_two_owners_describing_one_type_at_once_the_second_is_told(actor):
    actions.describe_unit_type(name="Heron 8", holds=TERN, actor=actor, idempotency_key=uuid.uuid4())
    with pytest.raises(actions.UnitRuleError, match=NAME_TAKEN):
        actions.describe_unit_type(name="Heron 8", holds=QUILL, actor=actor, idempotency_key=uuid.uuid4())


@pytest.mark.parametrize("figures", ["nan, 1000", "500, inf", "500, 1e400"])
def test_no_node_stands_at_what_is_no_speed(owner_at_desk, figures):
    form = typed(UnitTypeForm(initial={"name": "Heron 8", **initial_of(TERN)})) | {"fixed_rpm": figures}
    answer = owner_at_desk.post(reverse("units:new-type"), form)
    assert answer.status_code == 422
    assert "fixed_rpm" in answer.context["form"].errors
    assert not UnitType.objects.exists()
