"""What follows the readings of a session stands on its own page."""

import uuid
from dataclasses import replace
from datetime import timedelta

import pytest
from django.urls import reverse

from jobs.strobe import actions, queries
from jobs.strobe.following import Following, following
from tests.factories import JobFactory
from tests.pages import text_of
from tests.strobe.test_strobe import clamp, read, sit

NEXT = {"label": "Go to map", "url": "/somewhere/", "method": "post"}
TRUE, LATE = 8, 5  # against a base of 8 degrees


@pytest.fixture
def job(db):
    return JobFactory(stage="base-timing")


def a_session(job, actor, measured):
    session = sit(job, actor)
    for rpm in (900, 900, 2000, 2000):
        read(session, actor, rpm, measured)
    return session


def after(job, session):
    return following(job, queries.judged(session), NEXT)


def test_a_proven_base_asks_for_the_clamp_and_a_clamped_one_goes_on(job, actor):
    session = a_session(job, actor, TRUE)
    assert after(job, session) == Following(clamp=True)
    clamp(job, actor)
    assert after(job, session) == Following(action=NEXT)


def test_a_clamp_that_shifted_or_is_older_than_the_readings_is_asked_for_again(job, actor):
    clamp(job, replace(actor, at=actor.at - timedelta(hours=1)))
    session = a_session(job, actor, TRUE)
    assert after(job, session) == Following(clamp=True)
    clamp(job, actor, change=9)
    assert after(job, session) == Following(clamp=True)


def test_a_base_that_is_off_asks_for_the_strobe_again(browser_of, mechanic, job, actor):
    session = a_session(job, actor, LATE)
    assert after(job, session) == Following(again=True)
    client = browser_of(mechanic)
    page = client.get(reverse("strobe:session", args=[job.code, session.pk]))
    assert "Read strobe again" in text_of(page)
    client.post(
        reverse("strobe:begin-base", args=[job.code]),
        {"idempotency_key": uuid.uuid4(), "base_deg": "8", "lamp": session.lamp},
    )
    assert job.strobe_sessions.count() == 2


def test_the_page_of_the_stage_says_the_same_and_asks_for_the_clamp_once_the_base_is_proven(
    browser_of, mechanic, job, actor
):
    client, page = browser_of(mechanic), reverse("strobe:page", args=[job.code])
    a_session(job, actor, LATE)
    told = client.get(page)
    assert "Read strobe again" in text_of(told)
    assert not told.context["proof"].holds
    assert "<details open>" not in told.content.decode()
    a_session(job, actor, TRUE)
    told = client.get(page)
    assert "Read strobe again" not in text_of(told)
    assert told.content.decode().count("<details open>") == 1


def test_too_few_readings_and_an_older_session_lead_nowhere(job, actor):
    few = sit(job, actor)
    read(few, actor, 900, TRUE)
    assert after(job, few) == Following()
    older, _ = a_session(job, actor, LATE), a_session(job, actor, TRUE)
    assert after(job, older) == Following()


def test_the_clamp_is_saved_from_the_page_of_the_readings(browser_of, mechanic, job, actor):
    session = a_session(job, actor, TRUE)
    client = browser_of(mechanic)
    assert 'id="clamp"' in client.get(reverse("strobe:session", args=[job.code, session.pk])).content.decode()
    form = {"clamp-id": uuid.uuid4(), "clamp-change_deg": "0", "clamp-mark_painted": "on"}
    client.post(reverse("strobe:record-clamp", args=[job.code]), form)
    assert queries.clamp_holds(queries.clamp(job))
    assert "Go to map" in text_of(client.get(reverse("strobe:session", args=[job.code, session.pk])))


def test_a_reading_that_is_taken_back_takes_the_way_on_with_it(job, actor):
    session = a_session(job, actor, TRUE)
    for reading in session.readings.all():
        actions.withdraw_reading(reading=reading, actor=actor)
    assert after(job, session) == Following()
