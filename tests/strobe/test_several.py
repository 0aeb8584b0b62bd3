"""Readings from a slip of paper, typed in one box: all of them are saved, or none and it says which line is wrong."""

import uuid

import pytest
from django.urls import reverse

from garage.quantities.measure import VACUUM
from jobs.strobe import actions, queries
from jobs.strobe.models import Purpose, StrobeReading
from tests.factories import JobFactory
from tests.jobs_factories import released_version
from tests.pages import text_of


@pytest.fixture
def session(db, actor):
    job = JobFactory(stage="base-timing")
    return actions.begin_base_session(job=job, base_deg=8.0, idempotency_key=uuid.uuid4(), actor=actor)


@pytest.fixture
def send(browser_of, mechanic):
    client = browser_of(mechanic)

    def sent(session, readings, *, key=None):
        address = reverse("strobe:add-several", args=[session.job.code, session.pk])
        return client.post(address, {"several-readings": readings, "several-idempotency_key": str(key or uuid.uuid4())})

    return sent


def saved():
    return [(one.rpm, one.measured_deg) for one in StrobeReading.objects.order_by("rpm", "measured_deg")]


def test_four_lines_are_four_readings_and_prove_the_base_timing(send, session):
    assert send(session, "850 8\n900 8\n\n1800 7.5\n1850  8").status_code == 302
    assert saved() == [(850, 8), (900, 8), (1800, 7.5), (1850, 8)]
    assert queries.base_proof(session.job)


def test_a_decimal_comma_and_a_minus_are_read_as_everywhere(send, session):
    send(session, "850 7,5\n900 8.5")
    assert saved() == [(850, 7.5), (900, 8.5)]


def test_vacuum_stands_behind_the_two_in_the_unit_of_the_person(send, mechanic, actor):
    version = released_version(actor, job=JobFactory(stage="map"))
    session = actions.begin_map_session(
        job=version.job, purpose=Purpose.FINAL, version_id=version.pk, version_words=str(version),
        idempotency_key=uuid.uuid4(), actor=actor,
    )  # fmt: skip
    answer = send(session, "2000 20\n2500 30 10")
    assert answer.status_code == 302, text_of(answer)
    off, on = StrobeReading.objects.order_by("rpm")
    assert off.vacuum_kpa is None
    assert on.vacuum_kpa == pytest.approx(VACUUM.canonical_of(10, mechanic.vacuum_unit))
    assert on.vacuum_unit == mechanic.vacuum_unit


@pytest.mark.parametrize(
    ("readings", "said"),
    [
        ("850 8\n900", "Line 2: write rpm and degrees, with a blank between."),
        ("850 8\n900 8 10", "Line 2: write rpm and degrees, with a blank between."),
        ("850 8\nidle 8", "Line 2: "),
        ("850 8\n90000 8", "Line 2: "),
        ("", "needed"),
    ],
)
def test_one_wrong_line_is_named_and_nothing_is_saved(send, session, readings, said):
    answer = send(session, readings)
    assert answer.status_code == 422
    if said != "needed":
        assert said in text_of(answer)
    assert saved() == []


def test_a_line_that_looks_like_a_slip_is_asked_about_and_nothing_is_saved(send, actor):
    job = JobFactory(stage="base-timing")
    session = actions.begin_base_session(job=job, base_deg=16.0, idempotency_key=uuid.uuid4(), actor=actor)
    answer = send(session, "850 16\n1800 8")
    assert answer.status_code == 422
    assert "Line 2: " in text_of(answer)
    assert "about half of the 16.0° expected" in text_of(answer)
    assert saved() == []


def test_the_same_box_sent_twice_is_saved_once(send, session):
    key = uuid.uuid4()
    for _ in range(2):
        assert send(session, "850 8\n900 8", key=key).status_code == 302
    assert saved() == [(850, 8), (900, 8)]


def test_more_lines_than_a_page_holds_are_refused(send, session):
    answer = send(session, "850 8\n" * 61)
    assert "61 lines. 60 at most." in text_of(answer)
    assert saved() == []
