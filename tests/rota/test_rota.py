"""Who works when, who is away, and the bays."""

import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from garage.models import Absence, Bay, Staff
from garage.record.idempotency import SentBeforeError
from garage.record.models import TrailEntry
from garage.rota import actions
from garage.rota.models import WEEKDAYS
from garage.rota.queries import rota

MONDAY = date(2026, 11, 30)


def away(person, first, last, actor):
    return actions.enter_absence(
        person=person, first_day=first, last_day=last, idempotency_key=uuid.uuid4(), actor=actor
    )


def test_until_the_owner_says_otherwise_a_person_works_from_monday_to_friday(mechanic):
    week = rota([mechanic], MONDAY, MONDAY)
    hours = [week.hours(mechanic.pk, MONDAY + timedelta(days=number)) for number in range(7)]
    assert hours == [8, 8, 8, 8, 8, 0, 0]


def test_a_person_works_the_hours_that_the_owner_sets(browser_of, owner, mechanic):
    page = reverse("rota:hours", args=[mechanic.pk])
    typed = dict.fromkeys(WEEKDAYS, "7.5") | {"sunday": "0", "row_version": "1"}
    assert browser_of(owner).post(page, typed).status_code == 302
    week = rota([mechanic], MONDAY, MONDAY)
    assert week.hours(mechanic.pk, MONDAY + timedelta(days=5)) == Decimal("7.5")
    assert TrailEntry.objects.filter(subject_kind="staff", subject_id=mechanic.pk, sentence="Working hours").exists()


@pytest.mark.parametrize("hours", ["-1", "25", "x", ""])
def test_hours_that_no_day_has_are_refused(browser_of, owner, mechanic, hours):
    typed = dict.fromkeys(WEEKDAYS, "8") | {"monday": hours, "row_version": "1"}
    assert browser_of(owner).post(reverse("rota:hours", args=[mechanic.pk]), typed).status_code == 422


def test_two_owners_who_set_the_same_hours_from_an_old_page_are_told(browser_of, owner, mechanic):
    page, typed = reverse("rota:hours", args=[mechanic.pk]), dict.fromkeys(WEEKDAYS, "6") | {"row_version": "1"}
    browser_of(owner).post(page, typed)
    answer = browser_of(owner).post(page, typed | {"monday": "4"})
    assert answer.status_code == 409
    assert answer.context["standing"] == [{"label": "Monday", "value": "6.00"}]
    assert "Saved now" in answer.content.decode()


def test_whoever_is_away_works_no_hours_from_the_first_day_to_the_last(mechanic, actor):
    away(mechanic, MONDAY + timedelta(days=1), MONDAY + timedelta(days=2), actor)
    week = rota([mechanic], MONDAY, MONDAY + timedelta(days=6))
    assert [week.hours(mechanic.pk, MONDAY + timedelta(days=number)) for number in range(4)] == [8, 0, 0, 8]


def test_an_absence_that_is_cancelled_counts_no_more_and_stays_in_the_trail(mechanic, actor):
    absence = away(mechanic, MONDAY, MONDAY, actor)
    actions.cancel_absence(absence=absence, actor=actor)
    actions.cancel_absence(absence=absence, actor=actor)
    assert rota([mechanic], MONDAY, MONDAY).hours(mechanic.pk, MONDAY) == 8
    assert TrailEntry.objects.filter(event="absence-cancelled").count() == 1


@pytest.mark.parametrize("slip", [{"first_day": "0026-12-03"}, {"last_day": "9999-12-31"}])
def test_a_day_away_that_lies_years_off_is_refused_as_a_slip(browser_of, mechanic, slip):
    day = (timezone.localdate() + timedelta(days=3)).isoformat()
    typed = {"person": mechanic.pk, "first_day": day, "last_day": day, "idempotency_key": uuid.uuid4()}
    answer = browser_of(mechanic).post(reverse("rota:away"), typed | slip)
    assert answer.status_code == 422
    assert "Check the year" in answer.content.decode()
    assert not Absence.objects.exists()


def test_an_absence_that_ends_before_it_begins_is_refused(browser_of, mechanic, actor):
    typed = {
        "person": mechanic.pk,
        "first_day": "2026-12-04",
        "last_day": "2026-12-03",
        "idempotency_key": uuid.uuid4(),
    }
    answer = browser_of(mechanic).post(reverse("rota:away"), typed)
    assert answer.status_code == 422
    assert "The last day comes before the first." in answer.content.decode()
    with pytest.raises(actions.RotaRuleError):
        away(mechanic, MONDAY, MONDAY - timedelta(days=1), actor)
    with pytest.raises(IntegrityError), transaction.atomic():
        Absence.objects.create(
            person=mechanic, first_day=MONDAY, last_day=MONDAY - timedelta(days=1), made_at=actor.at,
            made_by=mechanic,
        )  # fmt: skip


def test_an_absence_sent_twice_is_one_and_an_old_page_with_other_days_is_told(mechanic, actor):
    key = uuid.uuid4()
    values = {"person": mechanic, "first_day": MONDAY, "idempotency_key": key, "actor": actor}
    assert actions.enter_absence(last_day=MONDAY, **values) == actions.enter_absence(last_day=MONDAY, **values)
    with pytest.raises(SentBeforeError):
        actions.enter_absence(last_day=MONDAY + timedelta(days=1), **values)


def test_the_page_says_who_works_and_who_is_away(browser_of, owner, mechanic, actor):
    today = timezone.localdate()
    away(mechanic, today, today + timedelta(days=2), actor)
    page = browser_of(owner).get(reverse("rota:page")).content.decode()
    assert "Ines Marlow" in page
    assert Absence.objects.get().days in page


def test_a_bay_has_its_name_once_and_may_be_closed_and_opened(browser_of, owner):
    client, page = browser_of(owner), reverse("rota:bays")
    assert client.post(page, {"name": "Bay 1", "idempotency_key": uuid.uuid4()}).status_code == 302
    assert client.post(page, {"name": "Bay 1", "idempotency_key": uuid.uuid4()}).status_code == 422
    bay = Bay.objects.get()
    client.post(reverse("rota:close-bay", args=[bay.pk]))
    assert Bay.objects.get().is_closed
    client.post(reverse("rota:open-bay", args=[bay.pk]))
    assert not Bay.objects.get().is_closed


def test_somebody_who_left_is_no_longer_on_the_rota(browser_of, owner, mechanic):
    Staff.objects.filter(pk=mechanic.pk).update(is_active=False)
    assert "Ines Marlow" not in browser_of(owner).get(reverse("rota:page")).content.decode()
