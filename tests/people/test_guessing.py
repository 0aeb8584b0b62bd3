"""Guessing is slowed down by account and stopped by address, and leaves a trace that the owner sees.

NIST SP 800-63B, 3.2.2: failed tries at one account are limited; a known device may be spared. The figures themselves
are common practice, no source.
"""

from datetime import timedelta

import pytest
import time_machine
from django.test import Client, RequestFactory
from django.urls import reverse
from django.utils import timezone

from garage.people import guessing
from garage.people.actions import add_person, set_password, set_pin
from garage.people.guessing import address_of
from garage.people.models import OpenSession
from garage.record.actor import Actor
from tests.people.test_signing_in import PASSWORD

STRANGERS = [f"203.0.113.{n}" for n in range(1, 255)]


def sign_in(address, password="wrong", username="ines", **headers):  # noqa: S107
    return Client(REMOTE_ADDR=address, headers=headers).post(
        reverse("people:sign-in"), {"username": username, "password": password}
    )


def test_guesses_at_one_account_from_ever_new_addresses_have_to_wait(mechanic):
    answers = [sign_in(address).status_code for address in STRANGERS[: guessing.FREE_TRIES + 2]]
    assert answers == [422] * guessing.FREE_TRIES + [429] * 2


def test_who_waits_a_minute_may_try_again(mechanic):
    with time_machine.travel(timezone.now(), tick=False) as clock:
        for address in STRANGERS[: guessing.FREE_TRIES + 1]:
            sign_in(address)
        assert sign_in("198.51.100.1", PASSWORD).status_code == 429
        clock.shift(guessing.LONGEST_WAIT)
        assert sign_in("198.51.100.1", PASSWORD).status_code == 302


def test_a_place_where_the_person_came_in_before_does_not_wait_for_strangers(mechanic):
    sign_in("192.168.1.20", PASSWORD)
    for address in STRANGERS[: guessing.FREE_TRIES + 1]:
        sign_in(address)
    assert sign_in("192.168.1.20", PASSWORD).status_code == 302


def test_one_address_that_tries_many_names_is_stopped(mechanic):
    answers = [sign_in("203.0.113.9", username=f"name{n}").status_code for n in range(guessing.TRIES_OF_AN_ADDRESS + 1)]
    assert answers[-2:] == [422, 429]


def test_behind_a_proxy_wrong_tries_of_one_lock_out_nobody_elsewhere(mechanic, settings):
    settings.BEHIND_PROXY = True
    for _ in range(7):
        sign_in("127.0.0.1", **{"X-Forwarded-For": "203.0.113.9"})
    assert sign_in("127.0.0.1", PASSWORD, **{"X-Forwarded-For": "203.0.113.9"}).status_code == 429
    assert sign_in("127.0.0.1", PASSWORD, **{"X-Forwarded-For": "192.168.1.20"}).status_code == 302


@pytest.mark.parametrize(
    ("behind_proxy", "address"), [(True, "192.168.1.20"), (False, "127.0.0.1")], ids=["proxy", "no proxy"]
)
def test_only_the_word_of_a_proxy_that_is_there_is_taken(settings, behind_proxy, address):
    settings.BEHIND_PROXY = behind_proxy
    request = RequestFactory(REMOTE_ADDR="127.0.0.1").get("/", headers={"X-Forwarded-For": "1.2.3.4, 192.168.1.20"})
    assert address_of(request) == address


def page_of_sign_ins(client):
    return client.get(reverse("people:sign-ins")).content.decode()


def test_the_owner_sees_who_came_in_and_who_tried(browser_of, owner, mechanic):
    sign_in("203.0.113.9")
    sign_in("192.168.1.20", PASSWORD)
    page = page_of_sign_ins(browser_of(owner))
    failed, came_in = page.split("<h2>Signed in</h2>")
    assert "203.0.113.9" in failed
    assert "Ines Marlow" in failed
    assert "192.168.1.20" in came_in


def test_a_name_that_is_nobody_s_is_not_repeated_for_it_may_be_a_password(browser_of, owner):
    sign_in("203.0.113.9", username="correct-horse-battery")
    page = page_of_sign_ins(browser_of(owner))
    assert "correct-horse-battery" not in page
    assert "unknown name" in page


def test_the_owner_sees_new_owners_and_changes_of_passwords_and_pins(browser_of, owner, mechanic):
    now = timezone.now()
    add_person(
        name="Second Owner", username="second", role="owner", password=PASSWORD, actor=Actor(person=owner, at=now)
    )
    set_password(person=mechanic, password="another long password", actor=Actor(person=mechanic, at=now))
    set_pin(person=mechanic, pin="2468", actor=Actor(person=mechanic, at=now))
    page = page_of_sign_ins(browser_of(owner))
    for line in ("Second Owner added as owner", "Password changed", "PIN changed"):
        assert line in page


def test_wrong_pins_leave_a_line_in_the_trail(browser_of, owner, mechanic):
    set_pin(person=owner, pin="2468", actor=Actor(person=owner, at=timezone.now()))
    client = browser_of(mechanic)
    for _ in range(5):
        client.post(reverse("people:switch"), {"person": owner.pk, "pin": "1357"})
    assert "5 PINs tried" in page_of_sign_ins(browser_of(owner))


def test_nobody_but_the_owner_sees_the_sign_ins(browser_of, mechanic, front_desk):
    for person in (mechanic, front_desk):
        assert browser_of(person).get(reverse("people:sign-ins")).status_code == 403


def test_a_session_key_copied_from_the_database_opens_nothing(browser_of, mechanic):
    browser_of(mechanic).get("/")
    thief = Client()
    thief.cookies["sessionid"] = OpenSession.objects.get().session_key
    assert thief.get("/").status_code == 302


def test_a_session_goes_on_from_page_to_page_and_ends_with_the_sign_out(browser_of, mechanic):
    client = browser_of(mechanic)
    assert [client.get("/").status_code for _ in range(2)] == [200, 200]
    client.post(reverse("people:sign-out"))
    assert client.get("/").status_code == 302
    assert not OpenSession.objects.exists()


def test_who_changes_the_password_ends_the_other_sessions(browser_of, mechanic):
    elsewhere = browser_of(mechanic)
    set_password(person=mechanic, password="another long password", actor=Actor(person=mechanic, at=timezone.now()))
    assert elsewhere.get("/").status_code == 302


def test_failures_of_long_ago_count_no_more(mechanic):
    with time_machine.travel(timezone.now() - guessing.WITHIN - timedelta(seconds=1)):
        for address in STRANGERS[: guessing.FREE_TRIES + 2]:
            sign_in(address)
    assert sign_in("198.51.100.1", PASSWORD).status_code == 302
