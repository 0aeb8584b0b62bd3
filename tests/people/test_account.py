"""What a person sets for themselves."""

import pytest
from django.test import Client
from django.urls import reverse

from garage.models import Staff

PASSWORD = "a long workshop password"
NEW = "a longer workshop password"


def new_password(client, old=PASSWORD, new=NEW, again=None):
    typed = {"new-password": old, "new-new_password": new, "new-new_password_again": new if again is None else again}
    return client.post(reverse("people:new-password"), typed)


@pytest.mark.parametrize("role", ["owner", "mechanic", "front_desk"])
def test_everybody_changes_their_own_password(browser_of, request, role):
    person = request.getfixturevalue(role)
    client = browser_of(person)
    assert new_password(client).status_code == 302
    assert Staff.objects.get(pk=person.pk).check_password(NEW)
    assert client.get(reverse("people:account")).status_code == 200, "still signed in here"


def test_a_new_password_ends_every_other_session_of_the_person(browser_of, mechanic):
    elsewhere = browser_of(mechanic)
    new_password(browser_of(mechanic))
    assert elsewhere.get("/").url.startswith("/sign-in/")


@pytest.mark.parametrize(
    ("typed", "refusal"),
    [
        ({"old": "not the one"}, "not your password"),
        ({"again": "another password"}, "passwords differ"),
        ({"new": "short"}, "too short"),
        ({"new": "ines marlow", "again": "ines marlow"}, "too similar"),
    ],
)
def test_a_new_password_is_refused_with_the_reason(browser_of, mechanic, typed, refusal):
    answer = new_password(browser_of(mechanic), **typed)
    assert answer.status_code == 422
    assert refusal in answer.content.decode()
    assert Staff.objects.get(pk=mechanic.pk).check_password(PASSWORD)


def test_guessing_the_password_on_a_tablet_left_lying_about_is_stopped(browser_of, mechanic):
    client = browser_of(mechanic)
    for n in range(3):
        new_password(client, old=f"guess {n}")
        answer = client.post(
            reverse("people:new-pin"), {"password": f"other guess {n}", "pin": "2468", "pin_again": "2468"}
        )
    assert answer.status_code == 429
    assert new_password(client).status_code == 429
    assert Client().post(reverse("people:sign-in"), {"username": "ines", "password": PASSWORD}).status_code == 429


def test_nobody_gives_themselves_another_name(browser_of, mechanic):
    browser_of(mechanic).post(reverse("people:account"), {"name": "Rowan Vale", "vacuum_unit": "inHg"})
    after = Staff.objects.get(pk=mechanic.pk)
    assert (after.name, after.vacuum_unit) == ("Ines Marlow", "inHg")


def test_an_unknown_unit_of_vacuum_is_refused(browser_of, mechanic):
    answer = browser_of(mechanic).post(reverse("people:account"), {"vacuum_unit": "furlongs"})
    assert answer.status_code == 422
    assert Staff.objects.get(pk=mechanic.pk).vacuum_unit == "kPa"
