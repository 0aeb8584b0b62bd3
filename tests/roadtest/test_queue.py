"""Road notes that waited on the passenger's tablet: written before they are placed, in the record once, never lost."""

import uuid
from datetime import UTC, datetime, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from garage.record.actor import Actor
from jobs.roadtest import actions, queries
from jobs.roadtest.actions import in_words
from jobs.roadtest.models import RoadNote
from jobs.roadtest.suggested import placed_pinking
from tests.factories import JobFactory
from tests.jobs_factories import MapVersionFactory
from tests.pages import text_of

# A tablet whose clock is a day slow: its intervals are right all the same.
NOTED_AT = datetime(2026, 11, 27, 9, 0, tzinfo=UTC)
KPA_PER_INHG = 3.386388640341  # NIST SP 811 (2008), appendix B.8, conventional inch of mercury


def ago(person, **time):
    return Actor(person=person, at=timezone.now() - timedelta(**time))


def setting_off(mechanic, writer):
    job = JobFactory(stage="road-test")
    version = MapVersionFactory(job=job)
    return actions.begin_run(
        job=job,
        version_id=version.pk,
        version_words=str(version),
        route="Quarry hill",
        driver=mechanic,
        writer=writer,
        idempotency_key=uuid.uuid4(),
        actor=ago(mechanic, hours=2),
    )


@pytest.fixture
def run(mechanic, second_mechanic):
    """Set off two hours ago; the second mechanic writes."""
    return setting_off(mechanic, second_mechanic)


@pytest.fixture
def note(second_mechanic):
    def made(kind="note", *, about=None, waited=timedelta(0), noted_at=NOTED_AT, **fields):
        return {
            "id": str(uuid.uuid4()),
            "message": kind,
            "maker": second_mechanic.pk,
            "item": "run",
            "madeAt": noted_at.isoformat(),
            "sentAt": (noted_at + waited).isoformat(),
            "entry": about["id"] if about else None,
            "fields": fields,
        }

    return made


@pytest.fixture
def send(browser_of, second_mechanic, run):
    client = browser_of(second_mechanic)
    address = reverse("roadtest:send", args=[run.job.code, run.pk])
    return lambda message: client.post(address, message, content_type="application/json")


def said(run):
    return [in_words(note) for note in queries.current_notes(run)]


def test_a_note_of_one_tap_is_in_the_record_once_with_its_moment(run, send, note):
    tapped = note(kind="note", waited=timedelta(minutes=20)) | {"fields": {"kind": "flat spot", "severity": ""}}
    for _ in range(2):
        assert send(tapped).json() == {"kept": tapped["id"]}
    kept = RoadNote.objects.get()
    assert said(run) == ["flat spot"]
    assert kept.received_at - kept.made_at == timedelta(minutes=20)


def felt(note, kind, severity="", **more):
    waited = more.pop("waited", timedelta(0))
    message = note(waited=waited)
    return message | {"fields": {"kind": kind, "severity": severity, **more}}


def placed(note, about, **fields):
    return note("placing", about=about) | {"fields": fields}


def test_a_note_is_placed_after_it_was_written_and_keeps_its_moment(run, send, note):
    tapped = felt(note, "pinking", "2", waited=timedelta(minutes=20))
    place = placed(
        note, tapped, kind="pinking", severity="2", rpm="2600", vacuum_kpa="1", vacuum_kpa_unit="inHg", gear="3",
        load="full",
    )  # fmt: skip
    for message in (tapped, place, place):
        assert send(message).status_code == 200
    assert said(run) == ["definite pinking at 2600 rpm, 1 inHg, gear 3, full throttle"]
    now, first = queries.current_notes(run)[0], RoadNote.objects.get(pk=tapped["id"])
    assert now.vacuum_kpa == pytest.approx(KPA_PER_INHG)
    assert now.at == first.made_at
    assert placed_pinking([now]) == [now]


def test_a_marked_moment_is_said_in_words_later(run, send, note):
    mark = felt(note, "mark")
    send(mark)
    assert said(run) == ["moment marked"]
    send(placed(note, mark, kind="surge", severity="", rpm="1500"))
    assert said(run) == ["surge at 1500 rpm"]


def test_what_was_written_before_the_end_comes_in_after_it_and_what_was_written_later_does_not(
    run, send, note, mechanic
):
    actions.end_run(run=run, summary="drives well", actor=ago(mechanic, minutes=30))
    assert send(felt(note, "surge", waited=timedelta(minutes=40))).status_code == 200
    late = send(felt(note, "hunting", waited=timedelta(minutes=10)))
    assert (late.status_code, late.json()["problem"][:19]) == (422, "This run has ended.")
    assert said(run) == ["surge"]


def test_a_note_is_placed_in_the_yard_after_the_run_has_ended(run, send, note, mechanic):
    tapped = felt(note, "pinking", "1", waited=timedelta(minutes=40))
    send(tapped)
    actions.end_run(run=run, summary="a trace on the hill", actor=ago(mechanic, minutes=5))
    assert send(placed(note, tapped, kind="pinking", severity="1", rpm="2400")).status_code == 200
    assert said(run) == ["slight pinking at 2400 rpm"]


def test_two_tablets_do_not_place_one_note_twice(run, send, note):
    tapped = felt(note, "surge")
    send(tapped)
    send(placed(note, tapped, kind="surge", severity="", rpm="1500"))
    other = send(placed(note, tapped, kind="surge", severity="", rpm="1900"))
    assert other.status_code == 422
    assert "changed or undone meanwhile" in other.json()["problem"]
    assert said(run) == ["surge at 1500 rpm"]


def test_a_placed_note_that_is_undone_brings_the_first_one_not_back(run, send, note):
    tapped = felt(note, "surge")
    place = placed(note, tapped, kind="surge", severity="", rpm="1500")
    for message in (tapped, place, note("undo", about=place)):
        assert send(message).status_code == 200
    assert said(run) == []


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"kind": "pinking", "severity": ""}, "How strong: Enter how strongly it pinked."),
        ({"kind": "surge", "severity": "", "rpm": "12000"}, "Speed: Must be between 0 and 10000 rpm."),
        ({"kind": "gossip", "severity": ""}, "What: "),
    ],
)
def test_what_cannot_be_saved_is_refused_with_the_sentence_of_its_box(run, send, note, fields, sentence):
    answer = send(note() | {"fields": fields})
    assert answer.status_code == 422
    assert answer.json()["problem"].startswith(sentence)
    assert said(run) == []


def test_the_database_keeps_no_pinking_without_its_strength(run, mechanic):
    with pytest.raises(IntegrityError), transaction.atomic():
        actions.take_note(run=run, id=uuid.uuid4(), kind="pinking", severity=0, actor=ago(mechanic, minutes=1))


def test_a_note_of_another_run_is_not_placed_here(send, note):
    answer = send(placed(note, note(), kind="surge", severity="", rpm="1500"))
    assert answer.json() == {"problem": "The note is not in this run."}


def test_who_may_only_look_is_told_so(run, browser_of, front_desk, note):
    message = felt(note, "surge") | {"maker": front_desk.pk}
    url = reverse("roadtest:send", args=[run.job.code, run.pk])
    answer = browser_of(front_desk).post(url, message, content_type="application/json")
    assert (answer.status_code, answer.json()) == (403, {"problem": "You can see these notes but not add any."})


def test_a_driver_who_is_alone_is_told_to_stop_and_the_notes_say_where_they_were_written(mechanic, browser_of):
    run = setting_off(mechanic, None)
    client, page = browser_of(mechanic), reverse("roadtest:run", args=[run.job.code, run.pk])
    actions.take_note(run=run, id=uuid.uuid4(), kind="surge", actor=ago(mechanic, minutes=1))
    shown = client.get(page)
    assert "Driver alone: stop first, then write." in text_of(shown)
    assert "written at the halt" in text_of(shown)
    assert 'data-kind="mark"' not in shown.text  # a moment is marked while the car moves


def test_without_script_a_note_is_placed_on_a_page_of_its_own(run, browser_of, mechanic):
    note = actions.take_note(run=run, id=uuid.uuid4(), kind="flat spot", actor=ago(mechanic, minutes=1))
    client, url = browser_of(mechanic), reverse("roadtest:place", args=[run.job.code, run.pk, note.pk])
    assert "Save place" in text_of(client.get(url))
    form = {"id": uuid.uuid4(), "kind": "flat spot", "rpm": "1800", "gear": "4", "load": "half"}
    assert client.post(url, form).status_code == 302
    assert said(run) == ["flat spot at 1800 rpm, gear 4, half throttle"]
    again = client.post(url, form | {"id": uuid.uuid4(), "rpm": "1900"})
    assert again.status_code == 422
    assert "changed or undone meanwhile" in text_of(again)


def test_what_was_fine_and_what_was_only_marked_is_no_reason_for_a_next_version(run, mechanic):
    for kind in ("fine", "mark", "hunting"):
        actions.take_note(run=run, id=uuid.uuid4(), kind=kind, actor=ago(mechanic, minutes=1))
    assert queries.reason_for_next_version(run) == "hunting"
