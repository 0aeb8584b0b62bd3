"""Taking people in and letting them go; the workshop's own data."""

import pytest
from django.urls import reverse

from garage.models import Staff, Workshop
from garage.people.models import Role

PASSWORD = "a long workshop password"


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
    assert "has this user name already" in answer.content.decode()


@pytest.mark.parametrize("change", [{"role": "mechanic", "is_active": "on"}, {"role": "owner"}])
def test_the_last_owner_can_neither_be_demoted_nor_shut_out(browser_of, owner, change):
    answer = browser_of(owner).post(reverse("people:person", args=[owner.pk]), {"name": owner.name} | change)
    assert answer.status_code == 422
    assert "at least one owner" in answer.content.decode()
    assert Staff.objects.get(pk=owner.pk).groups.get().name == Role.OWNER


def test_of_two_owners_one_may_go(browser_of, owner, mechanic):
    client = browser_of(owner)
    client.post(reverse("people:person", args=[mechanic.pk]), {"name": "Ines", "role": "owner", "is_active": "on"})
    client.post(reverse("people:person", args=[owner.pk]), {"name": "Rowan", "role": "mechanic", "is_active": "on"})
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
    assert "between -400 and 5000 m" in answer.content.decode()
    assert Workshop.objects.get().altitude_m == 0
