"""A PIN is set where it is first asked for: by whoever has none, with their password, at anybody's tablet."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from garage.people.models import Role
from garage.record.models import TrailEntry
from garage.second_factor.models import TimeCode
from tests.checklists.factories import enter, sheet_with
from tests.factories import StaffFactory
from tests.pages import text_of

PASSWORD = "a long workshop password"
FIRST_PIN = "/bench/first-pin/"


@pytest.fixture
def client(browser_of, mechanic):
    return browser_of(mechanic)


def set_first_pin(client, person, *, password=PASSWORD, pin="2846", **more):
    typed = {"person": person.pk, "password": password, "pin": pin, "pin_again": pin}
    return client.post(reverse("people:first-pin"), typed | more)


def test_the_switch_page_leads_whoever_has_no_pin_to_setting_one_and_back(client, mechanic, second_mechanic):
    page = client.get(reverse("people:switch"))
    assert f"{FIRST_PIN}?next=/bench/" in page.content.decode()
    answer = set_first_pin(client, second_mechanic, next="/bench/")
    assert answer.url == "/bench/"
    assert client.session["_auth_user_id"] == str(mechanic.pk)  # whoever is signed in stays so
    switched = client.post(reverse("people:switch"), {"person": second_mechanic.pk, "pin": "2846"})
    assert switched.status_code == 302
    assert client.session["_auth_user_id"] == str(second_mechanic.pk)


def test_the_page_says_what_a_pin_is_for(client):
    assert "A PIN says who is writing on a shared tablet" in text_of(client.get(reverse("people:first-pin")))


def test_it_stands_in_the_trail_under_whose_pin_it_is(client, second_mechanic):
    set_first_pin(client, second_mechanic)
    entry = TrailEntry.objects.get()
    assert (entry.event, entry.by) == ("pin-changed", second_mechanic)


def test_without_the_person_s_password_no_pin_is_set(client, second_mechanic):
    answer = set_first_pin(client, second_mechanic, password="another long password")
    assert answer.status_code == 422
    assert "This is not your password." in text_of(answer)
    second_mechanic.refresh_from_db()
    assert second_mechanic.bench_pin == ""


def test_whoever_has_a_pin_changes_it_on_their_own_page_alone(client, second_mechanic):
    set_first_pin(client, second_mechanic)
    assert set_first_pin(client, second_mechanic, pin="7391").status_code == 422


def test_whoever_has_a_second_step_is_told_where_to_set_it(client, second_mechanic):
    """A password alone opens nothing of somebody who signs in with two."""
    TimeCode.objects.create(person=second_mechanic, sealed_secret="sealed", proven_at=timezone.now())
    answer = set_first_pin(client, second_mechanic)
    assert "Sign in yourself, then set the PIN under My account." in text_of(answer)
    second_mechanic.refresh_from_db()
    assert second_mechanic.bench_pin == ""


def test_an_expired_first_password_sets_no_pin(client, second_mechanic):
    second_mechanic.first_password_until = timezone.now() - timedelta(days=1)
    second_mechanic.save()
    assert "This first password has expired." in text_of(set_first_pin(client, second_mechanic))


@pytest.mark.parametrize("role", [None, Role.OWNER])
def test_only_people_with_a_role_are_offered(client, role):
    person = StaffFactory(name="Odd Fellow", role=role)
    offered = f'value="{person.pk}"' in client.get(reverse("people:first-pin")).content.decode()
    assert offered == bool(role)


def test_an_item_that_needs_a_second_check_leads_a_colleague_without_pin_there(client, mechanic, second_mechanic):
    sheet = sheet_with([{"key": "fuse", "kind": "tick", "second_person": True}], person=mechanic)
    enter(sheet, "fuse", mechanic, outcome="done")
    url = reverse("checklists:item", args=[sheet.job.code, "fitting", "fuse"])
    link = f"{FIRST_PIN}?next={url}"
    assert link in client.get(url).content.decode()
    set_first_pin(client, second_mechanic, next=url)
    assert link not in client.get(url).content.decode()
