"""Where the workshop requires a second factor, and the fresh proof before what matters. OWASP ASVS 5, 6.3.3 and 7.5."""

from datetime import timedelta

import pyotp
import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from garage.models import TrailEntry, Workshop
from garage.people.actions import set_pin
from garage.record.actor import Actor
from tests.people.test_second_factor import PAGE, Phone, clock, phone  # noqa: F401 - fixtures
from tests.people.test_signing_in import PASSWORD, sign_in

SENSITIVE = [
    "people:new-person",
    "people:second-factor",
    "people:time-code",
    "people:second-factor-rule",
    "backup:page",
]


def require(client, whom):
    return client.post(reverse("people:second-factor-rule"), {"second_factor_for": whom})


def test_nobody_is_required_to_have_one_at_first(mechanic):
    client = Client()
    sign_in(client)
    assert client.get("/").status_code == 200


def test_an_owner_without_one_cannot_require_it(browser_of, owner):
    answer = require(browser_of(owner), "owners")
    assert "Set up your own second factor first" in answer.content.decode()
    assert Workshop.objects.get().second_factor_for == "nobody"


def test_who_has_none_is_signed_out_and_sets_one_up_before_any_other_page(phone, browser_of, owner, mechanic):  # noqa: F811
    tablet = browser_of(mechanic)
    require(browser_of(owner), "everybody")
    assert tablet.get("/").status_code == 302
    client = Client()
    sign_in(client)
    for page in ("/", "/customers/", reverse("people:account"), reverse("people:switch")):
        assert client.get(page).url == PAGE
    assert client.get(PAGE).status_code == 200
    queue = client.get("/", headers={"Accept": "application/json"})
    assert queue.status_code == 401


def test_after_setting_it_up_every_page_opens(phone, browser_of, owner, mechanic, clock):  # noqa: F811
    require(browser_of(owner), "everybody")
    client = Client()
    sign_in(client)
    page = client.get(reverse("people:time-code")).content.decode()
    secret = page.split("<code>")[1].split("</code>")[0].replace(" ", "")
    client.post(reverse("people:time-code"), {"code": pyotp.TOTP(secret).at(timezone.now())})
    assert client.get("/").status_code == 200


def test_required_of_owners_it_is_not_asked_of_the_others(phone, browser_of, owner, mechanic):  # noqa: F811
    require(browser_of(owner), "owners")
    client = Client()
    sign_in(client)
    assert client.get("/").status_code == 200
    assert TrailEntry.objects.filter(changes__icontains="second factor required").count() == 1


def test_where_it_is_required_nobody_takes_their_own_off(phone, browser_of, owner):  # noqa: F811
    require(browser_of(owner), "owners")
    client = browser_of(owner)
    answer = client.post(reverse("people:remove-second-factor"), {"password": PASSWORD, "code": phone.shows()})
    assert answer.url == PAGE
    assert owner.time_code.pk


def test_a_pin_at_a_known_tablet_goes_on_as_before(phone, browser_of, owner, mechanic, second_mechanic, clock):  # noqa: F811
    set_pin(person=second_mechanic, pin="2468", actor=Actor(person=second_mechanic, at=timezone.now()))
    Phone(mechanic, clock)
    require(browser_of(owner), "everybody")
    tablet = browser_of(mechanic)
    tablet.post(reverse("people:switch"), {"person": second_mechanic.pk, "pin": "2468"})
    assert tablet.get("/").status_code == 200


@pytest.mark.parametrize("page", SENSITIVE)
def test_what_matters_opens_with_a_proof_of_the_last_quarter_of_an_hour(browser_of, owner, page):
    client = browser_of(owner)
    assert client.get(reverse(page)).status_code == 200
    with time_machine.travel(timezone.now() + timedelta(minutes=16)):
        answer = client.get(reverse(page))
        assert answer.url == f"/confirm/?next={reverse(page)}"
        assert client.post("/confirm/", {"password": "wrong", "next": reverse(page)}).status_code == 422
        assert client.get(reverse(page)).status_code == 302
        assert client.post("/confirm/", {"password": PASSWORD, "next": reverse(page)}).url == reverse(page)
        assert client.get(reverse(page)).status_code == 200


def test_a_role_is_changed_with_a_fresh_proof_only(browser_of, owner, mechanic):
    client, page = browser_of(owner), reverse("people:person", args=[mechanic.pk])
    typed = {"name": "Ines Marlow", "role": "owner", "row_version": 1, "is_active": "on"}
    with time_machine.travel(timezone.now() + timedelta(minutes=16)):
        answer = client.post(page, typed, headers={"Referer": f"http://testserver{page}"})
    assert answer.url == f"/confirm/?next={page}"
    assert not mechanic.groups.filter(name="owner").exists()


def test_the_proof_wants_the_second_factor_too(phone, browser_of, owner, clock):  # noqa: F811
    client = browser_of(owner)
    clock.shift(timedelta(minutes=16))
    assert client.post("/confirm/", {"password": PASSWORD}).status_code == 422
    assert client.post("/confirm/", {"password": PASSWORD, "code": phone.shows()}).status_code == 302


def test_with_a_second_factor_the_password_is_changed_with_both(phone, browser_of, owner, clock):  # noqa: F811
    client = browser_of(owner)
    clock.shift(timedelta(minutes=16))
    new = "a longer workshop password"
    answer = client.post(
        reverse("people:new-password"),
        {"new-password": PASSWORD, "new-new_password": new, "new-new_password_again": new},
    )
    assert answer.url.startswith("/confirm/")
    owner.refresh_from_db()
    assert owner.check_password(PASSWORD)
