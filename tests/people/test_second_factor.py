"""Signing in with a second factor, setting one up, and taking it off. OWASP ASVS 5, 6.3.3, 6.5 and 6.6."""

from datetime import timedelta
from io import StringIO

import pyotp
import pytest
import time_machine
from axes.models import AccessAttempt, AccessFailureLog
from django.contrib.auth import SESSION_KEY
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from garage.models import Passkey, TrailEntry
from garage.people.actions import set_pin
from garage.people.models import OpenSession
from garage.record.actor import Actor
from garage.record.events import Event
from garage.second_factor import time_codes
from garage.second_factor.actions import remove_second_factor, set_time_code
from garage.second_factor.queries import has_second_factor
from tests.people.test_signing_in import PASSWORD, sign_in
from tests.second_factor.authenticator import Device

SECOND_STEP, PAGE = "/sign-in/second-step/", "/account/second-factor/"


@pytest.fixture
def clock():
    with time_machine.travel(timezone.now(), tick=False) as travelling:
        yield travelling


class Phone:
    """Shows the code of the moment, as an authenticator app does."""

    def __init__(self, person, clock):
        self.secret, self.clock = time_codes.new_secret(), clock
        actor = Actor(person=person, at=timezone.now())
        self.codes = set_time_code(person=person, secret=self.secret, code=self.shows(), actor=actor)
        clock.shift(60)

    def shows(self):
        return pyotp.TOTP(self.secret).at(timezone.now())

    def next(self):
        self.clock.shift(30)
        return self.shows()


@pytest.fixture
def phone(owner, clock):
    return Phone(owner, clock)


def after_the_password(username="rowan", **more):
    client = Client(**more)
    assert sign_in(client, username, next="/customers/").url.startswith(SECOND_STEP)
    return client


def second_step(client, code="", **more):
    return client.post(SECOND_STEP, {"code": code, "next": "/customers/", **more})


def test_the_password_alone_opens_nothing(phone):
    client = after_the_password()
    assert SESSION_KEY not in client.session
    assert client.get("/").url.startswith("/sign-in/")


def test_password_and_code_lead_to_the_page_that_was_wanted(phone):
    client = after_the_password()
    assert second_step(client, phone.shows()).url == "/customers/"
    assert client.get("/customers/").status_code == 200


def test_a_code_may_be_typed_with_a_gap(phone):
    code = phone.shows()
    assert second_step(after_the_password(), f"{code[:3]} {code[3:]}").status_code == 302


def test_a_code_signs_in_once(phone):
    code = phone.shows()
    second_step(after_the_password(), code)
    answer = second_step(after_the_password(), code)
    assert answer.status_code == 422
    assert "Each code works once" in answer.content.decode()


def test_without_the_password_the_second_step_leads_back_to_the_sign_in(phone):
    for answer in (Client().get(SECOND_STEP), second_step(Client(), phone.shows())):
        assert answer.url == "/sign-in/"


def test_the_second_step_waits_ten_minutes(phone, clock):
    client = after_the_password()
    clock.shift(timedelta(minutes=11))
    assert second_step(client, phone.shows()).url == "/sign-in/"


def test_another_password_meanwhile_ends_the_second_step(phone, owner):
    client = after_the_password()
    owner.set_password("a longer workshop password")
    owner.save()
    assert second_step(client, phone.shows()).url == "/sign-in/"


def test_guessing_codes_is_stopped_as_guessing_passwords_is_and_leaves_a_trace(phone):
    client = after_the_password()
    answers = [second_step(client, f"{n:06}").status_code for n in range(6)]
    assert answers == [422] * 5 + [429]
    assert second_step(client, phone.shows()).status_code == 429
    assert AccessFailureLog.objects.filter(username="rowan").count() >= 6


def test_guessing_codes_from_many_places_is_slowed_by_account(phone):
    clients = [after_the_password(REMOTE_ADDR=f"203.0.113.{n}") for n in range(12)]
    answers = [second_step(client, f"{n:06}").status_code for n, client in enumerate(clients)]
    assert answers[:10] == [422] * 10
    assert answers[10:] == [429] * 2


def test_the_right_password_forgives_no_wrong_codes(phone):
    for n in range(5):
        second_step(after_the_password(), f"{n:06}")
    assert second_step(after_the_password(), "000009").status_code == 429


def test_a_recovery_code_signs_in_once_and_is_told(phone, owner):
    code = phone.codes[0]
    assert second_step(after_the_password(), code).status_code == 302
    assert second_step(after_the_password(), code).status_code == 422
    assert TrailEntry.objects.get(event=Event.RECOVERY_CODE_USED).sentence == "Recovery code used, 9 left"


def test_what_was_typed_with_a_wrong_try_is_kept_nowhere(phone, browser_of, mechanic):
    """The list of tries keeps what a form sent: a mistyped password is nearly the password."""
    second_step(after_the_password(), "987654")
    browser_of(mechanic).post(
        reverse("people:new-password"),
        {
            "new-password": "nearly my password",
            "new-new_password": "the next one",
            "new-new_password_again": "the next",
        },
    )
    browser_of(mechanic).post(reverse("people:new-pin"), {"password": "nearly", "pin": "8642", "pin_again": "8642"})
    kept = " ".join(f"{attempt.post_data} {attempt.get_data}" for attempt in AccessAttempt.objects.all())
    assert kept
    assert [word for word in ("987654", "nearly", "the next", "the one", "8642") if word in kept] == []


def test_a_time_code_is_set_up_by_its_first_code_and_ten_recovery_codes_are_shown_once(browser_of, mechanic, clock):
    client = browser_of(mechanic)
    page = client.get(reverse("people:time-code")).content.decode()
    secret = page.split("<code>")[1].split("</code>")[0].replace(" ", "")
    assert client.post(reverse("people:time-code"), {"code": "000000"}).status_code == 422
    assert not has_second_factor(mechanic)
    shown = client.post(reverse("people:time-code"), {"code": pyotp.TOTP(secret).at(timezone.now())})
    assert shown.content.decode().count("<code>") == 10
    assert has_second_factor(mechanic)
    assert "10 left" in client.get(PAGE).content.decode()
    assert [entry.event for entry in TrailEntry.objects.filter(by=mechanic)] == [Event.SECOND_FACTOR_SET]


def test_the_secret_waits_sealed_for_its_first_code(browser_of, mechanic):
    client = browser_of(mechanic)
    page = client.get(reverse("people:time-code")).content.decode()
    secret = page.split("<code>")[1].split("</code>")[0].replace(" ", "")
    kept = [str(session.get_decoded()) for session in OpenSession.objects.all()]
    assert any("new_time_code" in data for data in kept)
    assert not any(secret in data for data in kept)


def test_sign_ins_that_began_without_the_second_factor_end_when_it_is_set_up(browser_of, mechanic, clock):
    elsewhere, here = browser_of(mechanic), browser_of(mechanic)
    page = here.get(reverse("people:time-code")).content.decode()
    secret = page.split("<code>")[1].split("</code>")[0].replace(" ", "")
    here.post(reverse("people:time-code"), {"code": pyotp.TOTP(secret).at(timezone.now())})
    assert [client.get("/").status_code for client in (here, elsewhere)] == [200, 302]


def test_the_person_takes_it_off_with_password_and_code(phone, browser_of, owner):
    client, page = browser_of(owner), reverse("people:remove-second-factor")
    assert client.post(page, {"password": PASSWORD, "code": ""}).status_code == 422
    assert client.post(page, {"password": "wrong", "code": phone.shows()}).status_code == 422
    assert has_second_factor(owner)
    assert client.post(page, {"password": PASSWORD, "code": phone.next()}).status_code == 302
    assert not has_second_factor(owner)
    assert TrailEntry.objects.filter(event=Event.SECOND_FACTOR_REMOVED, by=owner).count() == 1


def test_a_code_is_not_spent_on_a_wrong_password(phone, browser_of, owner):
    client, page, code = browser_of(owner), reverse("people:remove-second-factor"), phone.shows()
    client.post(page, {"password": "wrong", "code": code})
    assert client.post(page, {"password": PASSWORD, "code": code}).status_code == 302


def test_another_owner_takes_it_off_with_a_reason_and_nobody_else(browser_of, owner, mechanic, clock):
    Phone(mechanic, clock)
    page = reverse("people:remove-second-factor-of", args=[mechanic.pk])
    assert browser_of(mechanic).post(page, {"reason": "lost"}).status_code == 403
    client = browser_of(owner)
    assert client.post(page, {"reason": ""}).status_code == 422
    assert has_second_factor(mechanic)
    client.post(page, {"reason": "phone lost, stood before me"})
    assert not has_second_factor(mechanic)
    told = TrailEntry.objects.get(event=Event.SECOND_FACTOR_REMOVED)
    assert (told.by, "phone lost" in told.sentence) == (owner, True)


def test_an_owner_does_not_take_off_their_own_by_a_reason(phone, browser_of, owner):
    browser_of(owner).post(reverse("people:remove-second-factor-of", args=[owner.pk]), {"reason": "easier"})
    assert has_second_factor(owner)


def test_the_only_owner_s_is_taken_off_on_the_console(phone, owner):
    said = StringIO()
    call_command("forget_second_factor", "Rowan", stdout=said)
    assert "removed" in said.getvalue()
    assert sign_in(Client(), "rowan").url == "/"
    assert "console" in TrailEntry.objects.get(event=Event.SECOND_FACTOR_REMOVED).sentence
    for user in ("rowan", "nosuch"):
        with pytest.raises(CommandError):
            call_command("forget_second_factor", user)


def with_passkey(browser_of, person, device, host="bench.local"):
    client = browser_of(person)
    at_home = {"headers": {"Host": host}, "secure": True}
    page = client.get(PAGE, **at_home)
    answer = device.made(page.context["passkey_options"], f"https://{host}")
    return client.post(reverse("people:add-passkey"), {"name": "key ring", "passkey": answer}, **at_home), answer


@pytest.fixture
def named(settings):
    settings.ALLOWED_HOSTS = ["bench.local", "desk.local", "192.168.1.5", "testserver"]


def by_passkey(device, host="bench.local", origin=None):
    client = Client(headers={"Host": host})
    client.post("/sign-in/", {"username": "rowan", "password": PASSWORD}, secure=True)
    asked = client.get(SECOND_STEP, secure=True).context["passkey_options"]
    return client, device.signed(asked, origin or f"https://{host}")


def test_a_passkey_signs_in_where_it_was_added(named, browser_of, owner):
    device = Device()
    made, _ = with_passkey(browser_of, owner, device)
    assert made.content.decode().count("<code>") == 10
    client, answer = by_passkey(device)
    assert client.post(SECOND_STEP, {"passkey": answer}, secure=True).status_code == 302
    assert Passkey.objects.get().last_used_at is not None


def test_a_passkey_s_answer_is_good_once(named, browser_of, owner):
    device = Device()
    with_passkey(browser_of, owner, device)
    client, answer = by_passkey(device)
    client.post(SECOND_STEP, {"passkey": answer}, secure=True)
    again, _ = by_passkey(Device())
    assert again.post(SECOND_STEP, {"passkey": answer}, secure=True).status_code == 422


def test_a_passkey_that_another_site_asked_is_refused(named, browser_of, owner):
    device = Device()
    with_passkey(browser_of, owner, device)
    client, answer = by_passkey(device, origin="https://bench.local.example.org")
    assert client.post(SECOND_STEP, {"passkey": answer}, secure=True).status_code == 422


def test_a_copy_of_a_passkey_is_refused_once_the_other_was_used(named, browser_of, owner):
    """WebAuthn level 2, 6.1.1: the count goes up with each signature."""
    device = Device()
    with_passkey(browser_of, owner, device)
    client, answer = by_passkey(device)
    client.post(SECOND_STEP, {"passkey": answer}, secure=True)
    device.count = 0
    client, answer = by_passkey(device)
    assert client.post(SECOND_STEP, {"passkey": answer}, secure=True).status_code == 422


@pytest.mark.parametrize("answer", ["", "{", "[]", "null", '{"id": 1}', '{"id": "AA", "response": {}}', "x" * 9000])
def test_nonsense_for_a_passkey_is_refused(named, browser_of, owner, answer):
    with_passkey(browser_of, owner, Device())
    client, _ = by_passkey(Device())
    assert client.post(SECOND_STEP, {"passkey": answer}, secure=True).status_code == 422
    adding = browser_of(owner)
    adding.get(PAGE, headers={"Host": "bench.local"}, secure=True)
    sent = {"name": "x", "passkey": answer}
    refused = adding.post(reverse("people:add-passkey"), sent, headers={"Host": "bench.local"}, secure=True)
    assert refused.status_code == 422


def test_opened_by_a_number_or_without_https_the_page_says_why_there_is_no_passkey(named, browser_of, owner):
    client = browser_of(owner)
    numbered = client.get(PAGE, headers={"Host": "192.168.1.5"}, secure=True).content.decode()
    assert "Open the workshop by its name" in numbered
    assert "Passkeys need https" in client.get(PAGE, headers={"Host": "bench.local"}).content.decode()


def test_under_another_name_the_second_step_says_where_the_passkey_works(named, browser_of, owner):
    with_passkey(browser_of, owner, Device())
    client = Client(headers={"Host": "desk.local"})
    client.post("/sign-in/", {"username": "rowan", "password": PASSWORD}, secure=True)
    page = client.get(SECOND_STEP, secure=True)
    assert page.context["passkey_options"] is None
    assert "open the workshop as bench.local" in page.content.decode()


def test_the_only_passkey_is_not_removed_alone_but_one_of_two_is(named, browser_of, owner):
    first, second = Device(), Device()
    with_passkey(browser_of, owner, first)
    client = browser_of(owner)
    only = Passkey.objects.get()
    client.post(reverse("people:remove-passkey", args=[only.pk]))
    assert Passkey.objects.count() == 1
    with_passkey(browser_of, owner, second)
    client = browser_of(owner)
    client.post(reverse("people:remove-passkey", args=[only.pk]))
    assert Passkey.objects.count() == 1


def test_nobody_removes_another_person_s_passkey(named, browser_of, owner, mechanic):
    with_passkey(browser_of, owner, Device())
    answer = browser_of(mechanic).post(reverse("people:remove-passkey", args=[Passkey.objects.get().pk]))
    assert answer.status_code == 404


def test_a_pin_does_not_stand_for_the_second_factor(phone, browser_of, owner, mechanic):
    set_pin(person=owner, pin="2468", actor=Actor(person=owner, at=timezone.now()))
    client = browser_of(mechanic)
    client.post(reverse("people:switch"), {"person": owner.pk, "pin": "2468"})
    assert client.get("/").status_code == 200
    assert client.get(reverse("people:workshop")).url.startswith("/sign-in/")
    # The password lifts the PIN only together with the second factor.
    assert sign_in(client, "rowan").url.startswith(SECOND_STEP)
    assert client.get(reverse("people:workshop")).url.startswith("/sign-in/")
    second_step(client, phone.shows())
    assert client.get(reverse("people:workshop")).status_code == 200


def test_taken_off_twice_it_is_still_off(owner, clock):
    Phone(owner, clock)
    for _ in range(2):
        remove_second_factor(person=owner, actor=Actor(person=owner, at=timezone.now()))
    assert not has_second_factor(owner)
