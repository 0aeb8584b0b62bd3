"""Where one is signed in, and signing out there. OWASP ASVS 5, 7.4 and 7.5."""

from datetime import timedelta

import pytest
import time_machine
from django.contrib.sessions.backends.base import UpdateError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from garage.models import TrailEntry
from garage.people.actions import set_pin
from garage.people.models import OpenSession
from garage.people.open_sessions import place_in_words
from garage.record.actor import Actor
from garage.record.events import Event
from tests.people.test_signing_in import PASSWORD, sign_in

TABLET = "Mozilla/5.0 (Linux; Android 15; Tablet) Chrome/140"
DESK = "Mozilla/5.0 (Windows NT 10.0; Win64; x64) Firefox/140"


def signed_in(username="ines", agent=TABLET, address="192.168.1.30"):
    client = Client(headers={"User-Agent": agent}, REMOTE_ADDR=address)
    assert sign_in(client, username).status_code == 302
    return client


def page_of(client):
    return client.get(reverse("people:sessions")).content.decode()


def sign_out_there(client, session):
    return client.post(reverse("people:end-session", args=[session.name]))


def test_a_person_sees_each_device_on_which_they_are_signed_in(mechanic):
    signed_in(agent=TABLET)
    page = page_of(signed_in(agent=DESK, address="203.0.113.9"))
    for words in ("Tablet ", "Android", "Desk ", "Windows", "this one", "workshop network", "Sign out there"):
        assert words in page


def test_nobody_sees_where_others_are_signed_in(mechanic, owner):
    signed_in("rowan", agent=TABLET)
    assert "Android" not in page_of(signed_in("ines", agent=DESK))


def test_the_list_gives_no_session_key_away(mechanic):
    clients = [signed_in(agent=TABLET), signed_in(agent=DESK)]
    page = page_of(clients[1])
    keys = [client.session.session_key for client in clients]
    kept = [session.session_key for session in OpenSession.objects.all()]
    assert len(set(keys + kept)) == 4
    assert [key for key in keys + kept if key in page] == []


def test_signing_out_there_ends_that_sign_in_alone_and_is_told(mechanic):
    tablet, desk = signed_in(agent=TABLET), signed_in(agent=DESK)
    there = next(one for one in OpenSession.objects.all() if "Android" in one.get_decoded()["opened"]["device"])
    sign_out_there(desk, there)
    assert tablet.get("/").url.startswith("/sign-in/")
    assert desk.get("/").status_code == 200
    told = TrailEntry.objects.get(event=Event.SIGNED_OUT_ELSEWHERE)
    assert told.by == mechanic
    assert "Android" in told.sentence


def test_nobody_signs_another_person_out_by_the_name_of_their_sign_in(mechanic, owner):
    theirs = signed_in("rowan")
    sign_out_there(signed_in("ines"), OpenSession.objects.get(person=owner))
    assert theirs.get("/").status_code == 200


def test_signing_out_everywhere_else_leaves_this_one(mechanic):
    others, here = [signed_in(), signed_in()], signed_in()
    here.post(reverse("people:end-other-sessions"))
    assert [client.get("/").status_code for client in [*others, here]] == [302, 302, 200]
    assert TrailEntry.objects.get(event=Event.SIGNED_OUT_ELSEWHERE).sentence == "Signed out on 2 devices"


def test_the_owner_signs_out_a_person_who_left(mechanic, owner, browser_of):
    tablet = signed_in("ines")
    page = browser_of(owner)
    assert "Android" in page.get(reverse("people:person", args=[mechanic.pk])).content.decode()
    page.post(reverse("people:end-sessions-of", args=[mechanic.pk]))
    assert tablet.get("/").status_code == 302
    assert TrailEntry.objects.get(event=Event.SIGNED_OUT_ELSEWHERE).by == owner


def test_who_may_no_longer_sign_in_is_signed_in_nowhere(mechanic, owner, browser_of):
    tablet = signed_in("ines")
    browser_of(owner).post(
        reverse("people:person", args=[mechanic.pk]), {"name": "Ines Marlow", "role": "mechanic", "row_version": 1}
    )
    assert tablet.get("/").status_code == 302
    assert not OpenSession.objects.filter(person=mechanic).exists()


def test_another_role_is_proven_by_signing_in_again(mechanic, owner, browser_of):
    tablet = signed_in("ines")
    typed = {"name": "Ines Marlow", "role": "owner", "row_version": 1, "is_active": "on"}
    browser_of(owner).post(reverse("people:person", args=[mechanic.pk]), typed)
    assert tablet.get("/").status_code == 302


def test_a_new_password_leaves_this_sign_in_alone_in_the_list(mechanic):
    signed_in(agent=TABLET)
    here = signed_in(agent=DESK)
    new = "a longer workshop password"
    here.post(
        reverse("people:new-password"),
        {"new-password": PASSWORD, "new-new_password": new, "new-new_password_again": new},
    )
    page = page_of(here)
    assert "Windows" in page
    assert "Android" not in page
    assert "Sign out there" not in page


def test_a_new_pin_ends_what_the_old_one_opened_and_nothing_else(mechanic, second_mechanic):
    def new_pin(pin):
        set_pin(person=second_mechanic, pin=pin, actor=Actor(person=second_mechanic, at=timezone.now()))

    new_pin("2468")
    by_password, by_pin = signed_in("tam"), signed_in("ines")
    by_pin.post(reverse("people:switch"), {"person": second_mechanic.pk, "pin": "2468"})
    assert "by PIN" in page_of(by_password)
    new_pin("1357")
    assert [client.get("/").status_code for client in (by_password, by_pin)] == [200, 302]
    assert "by PIN" not in page_of(by_password)


def test_what_lay_idle_too_long_is_not_called_signed_in(mechanic, settings):
    signed_in(agent=TABLET)
    with time_machine.travel(timezone.now() + timedelta(seconds=settings.SESSION_IDLE_AFTER + 60)):
        assert "Android" not in page_of(signed_in(agent=DESK))


def test_what_was_ended_is_not_revived_by_an_answer_under_way(mechanic):
    """The other device's request was read before the sign-in ended, and its session is saved after it."""
    client = signed_in()
    under_way = client.session
    under_way.get("seen")
    OpenSession.objects.all().delete()
    under_way["seen"] = 1
    with pytest.raises(UpdateError):
        under_way.save()
    assert not OpenSession.objects.exists()


@pytest.mark.parametrize(
    ("address", "words"),
    [
        ("127.0.0.1", "workshop computer"), ("::1", "workshop computer"), ("192.168.1.20", "workshop network"),
        ("fd00::5", "workshop network"), ("8.8.8.8", "outside the workshop"), ("nobody", "unknown"), ("", "unknown"),
    ],
)  # fmt: skip
def test_a_place_is_said_in_general_words(address, words):
    """Which addresses are private: RFC 1918 and RFC 4193."""
    assert place_in_words(address) == words
