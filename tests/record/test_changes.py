"""What is changed of a customer, a car, a unit, a person or the workshop says who changed it, when, and from what."""

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from garage.models import TrailEntry
from garage.record.triggers import trigger_name
from tests.factories import CustomerFactory, VehicleFactory
from tests.jobs_factories import FittedUnitFactory
from tests.record.test_sent_twice import edit_form


def page_of(client, name, thing):
    return client.get(reverse(name, args=[thing.pk])).content.decode()


def test_a_changed_figure_of_an_engine_says_who_changed_it_and_from_what(browser_of, front_desk):
    car, client = VehicleFactory(), browser_of(front_desk)
    client.post(reverse("vehicles:edit", args=[car.pk]), edit_form(car, **{"engine-compression_ratio": "8.8"}))
    car.refresh_from_db()
    again = edit_form(car, row_version=2, **{"engine-compression_ratio": "9.2"})
    client.post(reverse("vehicles:edit", args=[car.pk]), again)
    newest = TrailEntry.objects.last()
    assert (newest.by, newest.device is not None) == (front_desk, True)
    assert newest.changes == [{"label": "engine, compression ratio", "before": "8.8", "after": "9.2"}]
    assert "engine, compression ratio: 8.8 → 9.2" in page_of(client, "vehicles:detail", car)


def test_a_form_sent_back_untouched_is_no_change(browser_of, front_desk):
    customer = CustomerFactory(name="Mira Holt")
    form = {"name": "Mira Holt", "row_version": 1}
    browser_of(front_desk).post(reverse("customers:edit", args=[customer.pk]), form)
    assert not TrailEntry.objects.exists()


def test_a_change_that_came_too_late_is_none(browser_of, front_desk, owner):
    customer = CustomerFactory(name="Mira Holt")
    url = reverse("customers:edit", args=[customer.pk])
    browser_of(front_desk).post(url, {"name": "Mira Holt-Arden", "row_version": 1})
    browser_of(owner).post(url, {"name": "Mira Arden", "row_version": 1})
    assert [(change.by, change.text) for change in TrailEntry.objects.all()] == [
        (front_desk, "name: Mira Holt → Mira Holt-Arden")
    ]
    assert "Mira Holt → Mira Holt-Arden" in page_of(browser_of(owner), "customers:detail", customer)


def test_a_limit_by_which_cars_are_judged_says_who_moved_it(browser_of, owner, workshop):
    client = browser_of(owner)
    form = client.get(reverse("people:workshop")).context["form"]
    shown = {name: form[name].value() for name in form.fields if form[name].value() is not None}
    client.post(reverse("people:workshop"), shown | {"strobe_tolerance_deg": "2"})
    assert TrailEntry.objects.get().text == "strobe tolerance deg: 1 → 2"
    assert "strobe tolerance deg: 1 → 2" in client.get(reverse("people:workshop")).content.decode()


def test_a_person_s_new_role_and_that_a_password_was_set_are_kept_but_never_the_password(browser_of, owner, mechanic):
    form = {
        "name": mechanic.name,
        "role": "front desk",
        "is_active": "on",
        "row_version": 1,
        "password": "blue-kettle-1964",
    }
    browser_of(owner).post(reverse("people:person", args=[mechanic.pk]), form)
    said = TrailEntry.objects.get().text
    assert "role: mechanic → front desk" in said
    assert "password: nothing → changed" in said
    assert "kettle" not in said


def test_the_notes_of_a_unit_keep_what_they_said_before(browser_of, mechanic):
    unit = FittedUnitFactory(notes="The lid is scratched.")
    browser_of(mechanic).post(reverse("units:fitted", args=[unit.pk]), {"notes": "New lid.", "row_version": 1})
    assert TrailEntry.objects.get().text == "notes: The lid is scratched. → New lid."


def test_what_was_changed_is_kept_for_ever_by_the_database(browser_of, front_desk):
    customer = CustomerFactory()
    browser_of(front_desk).post(reverse("customers:edit", args=[customer.pk]), {"name": "Mira Holt", "row_version": 1})
    assert trigger_name("garage_change", "UPDATE") == "garage_change_kept_update"
    for action in (lambda rows: rows.update(changes=[]), lambda rows: rows.delete()):
        with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
            action(TrailEntry.objects.all())
