"""Readings that waited on a tablet: in the record once, with the moment they were read, or refused with a sentence."""

import uuid
from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from garage.record.actor import Actor
from jobs.strobe import actions, queries
from jobs.strobe.models import Purpose, StrobeReading
from tests.factories import JobFactory
from tests.jobs_factories import MapVersionFactory
from tests.pages import text_of

# A tablet whose clock is five hours fast: its intervals are right all the same.
READ_AT = datetime(2026, 11, 28, 15, 0, tzinfo=UTC)
KPA_PER_INHG = 3.386388640341  # NIST SP 811 (2008), appendix B.8, conventional inch of mercury


@pytest.fixture
def job(db):
    return JobFactory(stage="base-timing")


@pytest.fixture
def session(job, mechanic):
    """Begun two hours ago."""
    actor = Actor(person=mechanic, at=timezone.now() - timedelta(hours=2))
    return actions.begin_base_session(job=job, base_deg=8.0, idempotency_key=uuid.uuid4(), actor=actor)


def message(maker, *, kind="reading", id=None, waited=timedelta(0), read_at=READ_AT, **fields):
    return {
        "id": str(id or uuid.uuid4()),
        "message": kind,
        "maker": maker.pk,
        "item": "session",
        "madeAt": read_at.isoformat(),
        "sentAt": (read_at + waited).isoformat(),
        "fields": fields,
    }


@pytest.fixture
def send(browser_of, mechanic):
    client = browser_of(mechanic)

    def sent(session, message):
        address = reverse("strobe:send", args=[session.job.code, session.pk])
        return client.post(address, message, content_type="application/json")

    return sent


def figures(session):
    return [(reading.rpm, reading.measured_deg) for reading in queries.standing_readings(session)]


def test_a_reading_sent_twice_is_one_reading(session, send, mechanic):
    read = message(mechanic, rpm="850", measured_deg="7,5")
    for _ in range(2):
        assert send(session, read).json() == {"kept": read["id"]}
    assert figures(session) == [(850.0, 7.5)]


def test_a_reading_keeps_the_moment_at_which_it_was_read_by_our_clock(session, send, mechanic):
    send(session, message(mechanic, waited=timedelta(minutes=40), rpm="850", measured_deg="8"))
    reading = StrobeReading.objects.get()
    assert reading.received_at - reading.made_at == timedelta(minutes=40)


def test_no_reading_is_older_than_its_session(session, send, mechanic):
    send(session, message(mechanic, waited=timedelta(days=3), rpm="850", measured_deg="8"))
    assert StrobeReading.objects.get().made_at == session.begun_at


def test_the_same_id_with_other_figures_is_refused(session, send, mechanic):
    read = message(mechanic, rpm="850", measured_deg="8")
    send(session, read)
    again = send(session, read | {"fields": {"rpm": "900", "measured_deg": "8"}})
    assert again.status_code == 422
    assert figures(session) == [(850.0, 8.0)]


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"rpm": "850"}, "Strobe reads: Fill this in."),
        ({"rpm": "850", "measured_deg": "95"}, "Strobe reads: Must be between −30 and 80 ° BTDC."),
        ({"rpm": "1,500", "measured_deg": "8"}, "Speed: ‘1,500’ could mean 1500 or 1.500."),
        ({"rpm": "850", "measured_deg": "8\x00"}, "The text has a character that cannot be saved. Enter it again."),
    ],
)
def test_what_cannot_be_saved_is_refused_with_the_sentence_of_its_box(session, send, mechanic, fields, sentence):
    answer = send(session, message(mechanic, **fields))
    assert (answer.status_code, answer.json()) == (422, {"problem": sentence})
    assert figures(session) == []


def test_a_slip_of_the_hand_is_asked_about_and_saved_as_answered(session, send, mechanic):
    read = message(mechanic, rpm="2000", measured_deg="16")
    asked = send(session, read)
    assert asked.status_code == 422
    assert "twice" in asked.json()["problem"] or "doubled" in asked.json()["problem"]
    corrected, kept = asked.json()["choices"]
    assert (corrected["words"], kept["words"]) == ("Save 8° BTDC", "Save as typed, 16° BTDC")
    assert figures(session) == []
    answered = read | {"fields": read["fields"] | corrected["fields"]}
    assert [send(session, answered).status_code for _ in range(2)] == [200, 200]
    assert figures(session) == [(2000.0, 8.0)]


def test_a_vacuum_counts_in_the_unit_of_the_page_it_was_typed_on(job, send, mechanic, actor):
    version = MapVersionFactory(job=job)
    session = actions.begin_map_session(
        job=job,
        purpose=Purpose.SWEEP,
        version_id=version.pk,
        version_words="version 1",
        idempotency_key=uuid.uuid4(),
        actor=actor,
    )
    fields = {"rpm": "2000", "measured_deg": "20", "vacuum_kpa": "10", "vacuum_kpa_unit": "inHg"}
    assert send(session, message(mechanic, **fields | {"keep": "20"})).status_code == 200
    reading = StrobeReading.objects.get()
    assert reading.vacuum_kpa == pytest.approx(10 * KPA_PER_INHG)
    assert reading.vacuum_unit == "inHg"


def test_a_reading_that_still_waited_is_undone_after_it_came_in(session, send, mechanic):
    read = message(mechanic, rpm="850", measured_deg="8")
    send(session, read)
    undo = message(mechanic, kind="undo") | {"entry": read["id"]}
    assert [send(session, undo).status_code for _ in range(2)] == [200, 200]
    assert figures(session) == []
    assert session.readings.count() == 2  # the reading and its undoing: nothing is taken out of the book


def test_a_reading_of_another_session_is_not_undone_here(session, send, mechanic):
    answer = send(session, message(mechanic, kind="undo") | {"entry": str(uuid.uuid4())})
    assert answer.json() == {"problem": "The reading to undo is not in this session."}


def test_a_message_of_another_person_waits_for_them(session, send, second_mechanic):
    answer = send(session, message(second_mechanic, rpm="850", measured_deg="8"))
    assert answer.status_code == 409
    assert figures(session) == []


def test_who_may_only_look_is_told_so(session, browser_of, front_desk):
    answer = browser_of(front_desk).post(
        reverse("strobe:send", args=[session.job.code, session.pk]),
        message(front_desk, rpm="850", measured_deg="8"),
        content_type="application/json",
    )
    assert (answer.status_code, answer.json()) == (403, {"problem": "You can see these readings but not add any."})


def test_a_message_of_a_sheet_is_none_of_a_session(session, send, mechanic):
    answer = send(session, message(mechanic, kind="photograph"))
    assert answer.json() == {"problem": "‘photograph’ is no message of a strobe session."}


def test_the_list_of_sessions_shows_the_verdict_of_each(session, send, mechanic, browser_of):
    for rpm, degrees in ((850, 12), (1800, 11.5), (900, 12), (1850, 12)):
        send(session, message(mechanic, rpm=str(rpm), measured_deg=str(degrees)))
    again = Actor(person=mechanic, at=timezone.now())
    actions.begin_base_session(job=session.job, base_deg=8.0, idempotency_key=uuid.uuid4(), actor=again)
    page = browser_of(mechanic).get(reverse("strobe:page", args=[session.job.code]))
    listed = text_of(page).split("Strobe sessions")[1]
    assert listed.index("no readings") < listed.index("fail") < listed.index("4 strobe readings")
