"""Taking people in and letting them go; the workshop's own data."""

from datetime import timedelta

import pytest
import time_machine
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from garage.models import Staff, Workshop
from garage.people.actions import add_person, set_password, set_pin
from garage.people.forms import WorkshopForm
from garage.people.models import Role
from garage.record.actor import Actor
from garage.record.queries import changes_of
from tests.factories import StaffFactory

PASSWORD = "a long workshop password"


def change(name, role, row_version=1, **more):
    """What an owner sends to change a person; `is_active` away lets them go."""
    return {"row_version": row_version, "name": name, "role": role, "is_active": "on"} | more


def test_the_owner_takes_a_mechanic_in(browser_of, owner):
    browser_of(owner).post(
        reverse("people:new-person"),
        {"name": "Ode Brandt", "username": "ode", "role": "mechanic", "password": PASSWORD},
    )
    person = Staff.objects.get(username="ode")
    assert person.has_perm("garage.record_readings")
    assert not person.has_perm("garage.manage_workshop")


def test_a_user_name_is_given_once_whatever_its_case(browser_of, owner, mechanic):
    answer = browser_of(owner).post(
        reverse("people:new-person"), {"name": "Second", "username": "INES", "role": "mechanic", "password": PASSWORD}
    )
    assert answer.status_code == 422
    assert "This user name is taken" in answer.content.decode()


@pytest.mark.parametrize("change", [{"role": "mechanic", "is_active": "on"}, {"role": "owner"}])
def test_the_last_owner_can_neither_be_demoted_nor_shut_out(browser_of, owner, change):
    answer = browser_of(owner).post(
        reverse("people:person", args=[owner.pk]), {"row_version": 1, "name": owner.name} | change
    )
    assert answer.status_code == 422
    assert "At least one owner" in answer.content.decode()
    assert Staff.objects.get(pk=owner.pk).groups.get().name == Role.OWNER


def test_of_two_owners_one_may_go(browser_of, owner, mechanic):
    client = browser_of(owner)
    client.post(reverse("people:person", args=[mechanic.pk]), change("Ines", "owner"))
    client.post(reverse("people:person", args=[owner.pk]), change("Rowan", "mechanic"))
    assert Staff.objects.get(pk=owner.pk).groups.get().name == Role.MECHANIC


@pytest.mark.parametrize("role", ["mechanic", "front_desk"])
@pytest.mark.parametrize("name", ["people:workshop", "people:new-person"])
def test_only_the_owner_sees_the_workshop_s_page(browser_of, request, role, name):
    answer = browser_of(request.getfixturevalue(role)).get(reverse(name))
    assert answer.status_code == 403
    assert "href" in answer.content.decode(), "a way back"


def test_a_limit_out_of_reason_is_refused_with_what_is_allowed(browser_of, owner):
    answer = browser_of(owner).post(reverse("people:workshop"), {"name": "Lockgate", "altitude_m": 12000})
    assert answer.status_code == 422
    assert "between −400 and 5000 m" in answer.content.decode()
    assert Workshop.objects.get().altitude_m == 0


@pytest.fixture
def second_owner(workshop):
    return StaffFactory(name="Arne Holt", username="arne", role=Role.OWNER)


def test_an_owner_with_an_older_page_does_not_let_somebody_in_again(browser_of, owner, second_owner, mechanic):
    url = reverse("people:person", args=[mechanic.pk])
    browser_of(owner).post(url, {"row_version": 1, "name": "Ines Marlow", "role": "mechanic"})
    answer = browser_of(second_owner).post(url, change("Ines Marlow-Brandt", "mechanic"))
    assert answer.status_code == 409
    assert "Ines Marlow-Brandt" in answer.content.decode()
    assert not Staff.objects.get(pk=mechanic.pk).is_active


def test_a_person_sent_twice_is_changed_once_and_no_clash(browser_of, owner, mechanic):
    url = reverse("people:person", args=[mechanic.pk])
    for _ in range(2):
        assert browser_of(owner).post(url, change("Ines Brandt", "mechanic")).status_code == 302
    assert Staff.objects.get(pk=mechanic.pk).row_version == 2


def test_changing_a_person_leaves_their_password_and_pin_alone(browser_of, owner, mechanic):
    set_pin(person=mechanic, pin="2468", actor=Actor(person=mechanic, at=timezone.now()))
    browser_of(owner).post(reverse("people:person", args=[mechanic.pk]), change("Ines Brandt", "mechanic"))
    after = Staff.objects.get(pk=mechanic.pk)
    assert after.check_password(PASSWORD)
    assert after.bench_pin


def limits(workshop, row_version=1, **changed):
    """The workshop's form as its page shows it, with some of it changed."""
    filled = WorkshopForm(instance=workshop, initial={"row_version": row_version})
    return {name: "" if filled[name].value() is None else filled[name].value() for name in filled.fields} | changed


def test_two_owners_changing_the_workshop_are_shown_both(browser_of, owner, second_owner, workshop):
    url = reverse("people:workshop")
    browser_of(owner).post(url, limits(workshop, phone="01632 960 111"))
    answer = browser_of(second_owner).post(url, limits(workshop, phone="01632 960 222"))
    assert answer.status_code == 409
    for phone in ("01632 960 111", "01632 960 222"):
        assert phone in answer.content.decode()
    assert Workshop.objects.get().phone == "01632 960 111"
    browser_of(second_owner).post(url, limits(workshop, row_version=2, phone="01632 960 222"))
    assert Workshop.objects.get().phone == "01632 960 222"


def test_the_owner_sets_how_far_above_the_red_line_is_a_stop_and_the_trail_says_so(browser_of, owner, workshop):
    assert workshop.over_red_line_percent == 5.0
    browser_of(owner).post(reverse("people:workshop"), limits(workshop, over_red_line_percent="3"))
    assert Workshop.objects.get().over_red_line_percent == 3.0
    [changed] = changes_of(workshop)[0].changes
    assert changed == {"label": "rev limit above the red line", "before": "5", "after": "3"}


def test_the_workshop_sent_twice_is_no_clash(browser_of, owner, workshop):
    for _ in range(2):
        answer = browser_of(owner).post(reverse("people:workshop"), limits(workshop, phone="01632 960 111"))
        assert answer.status_code == 302


def test_the_database_gives_a_user_name_once_whatever_its_case(mechanic):
    with pytest.raises(IntegrityError), transaction.atomic():
        StaffFactory(username="INES")


@pytest.fixture
def newcomer(owner):
    return add_person(
        name="Nia Okafor", username="nia", role=Role.MECHANIC, password=FIRST, actor=Actor(owner, at=timezone.now())
    )


FIRST = "chosen by the owner"


def signed_in_with(password, username="nia"):
    return Client().post(reverse("people:sign-in"), {"username": username, "password": password})


def test_a_first_password_opens_the_account_and_leads_to_where_it_is_changed(newcomer):
    assert signed_in_with(FIRST).url == reverse("people:account")


def test_a_first_password_expires(newcomer):
    with time_machine.travel(timezone.now() + timedelta(days=8)):
        answer = signed_in_with(FIRST)
    assert answer.status_code == 422
    assert "expired" in answer.content.decode()


def test_a_password_of_one_s_own_does_not_expire(newcomer):
    set_password(person=newcomer, password="chosen by Nia herself", actor=Actor(newcomer, at=timezone.now()))
    with time_machine.travel(timezone.now() + timedelta(days=400)):
        assert signed_in_with("chosen by Nia herself").url == "/"
