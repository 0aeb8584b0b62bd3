"""Taking a car from stage to stage."""

import uuid
from pathlib import Path

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from garage.record.actor import Actor
from garage.units.models import FittedUnit
from jobs.job import stages
from jobs.job.actions import (
    GateClosedError,
    JobRuleError,
    choose_unit,
    go_on,
    note,
    put_aside,
    send_back,
    take_up_again,
)
from jobs.job.journal import AFTER_ABANDONING
from jobs.job.models import GateCrossing, Job, JobState, Stage
from tests.factories import JobFactory
from tests.jobs_factories import FittedUnitFactory

JOBS = Path(__file__).resolve().parent.parent.parent / "jobs"


@pytest.fixture
def job(db):
    return JobFactory()


@pytest.fixture
def owner_actor(owner):
    return Actor(person=owner, at=timezone.now())


def complete_booking(job):
    Job.objects.filter(pk=job.pk).update(booked_for=timezone.localdate(), odometer=61204)
    job.refresh_from_db()


def test_a_complete_booking_opens_the_gate_to_the_inspection(job, actor):
    complete_booking(job)
    go_on(job=job, leaving=Stage(job.stage), actor=actor)
    assert job.stage == Stage.INSPECTION
    assert job.journal.get().sentence == "Booked done, on to inspection"


def test_a_mechanic_does_not_get_past_a_gate_with_something_missing(job, actor):
    with pytest.raises(GateClosedError, match="odometer"):
        go_on(job=job, leaving=Stage(job.stage), actor=actor, reason="we know the car")
    assert Job.objects.get(pk=job.pk).stage == Stage.BOOKED


def test_the_owner_lets_a_car_past_with_a_reason_that_the_journal_keeps(job, owner_actor):
    go_on(job=job, leaving=Stage(job.stage), actor=owner_actor, reason="odometer is broken")
    assert job.stage == Stage.INSPECTION
    crossing = GateCrossing.objects.get()
    assert crossing.missing
    assert "odometer is broken" in job.journal.get().sentence


def test_not_even_the_owner_passes_a_closed_gate_without_a_reason(job, owner_actor):
    with pytest.raises(GateClosedError):
        go_on(job=job, leaving=Stage(job.stage), actor=owner_actor)


def test_the_database_wants_a_reason_for_a_gate_passed_unmet(job, mechanic):
    with pytest.raises(IntegrityError, match="gate_passed_unmet_with_reason"), transaction.atomic():
        GateCrossing.objects.create(
            job=job, left="booked", entered="inspection", missing=["all"], by=mechanic, at=timezone.now()
        )


def test_pressing_go_on_twice_moves_the_car_one_stage(job, actor):
    complete_booking(job)
    as_seen_by_the_second = Job.objects.get(pk=job.pk)
    go_on(job=job, leaving=Stage(job.stage), actor=actor)
    with pytest.raises(JobRuleError, match="Someone else moved this job"):
        go_on(job=as_seen_by_the_second, leaving=Stage(as_seen_by_the_second.stage), actor=actor)
    assert Job.objects.get(pk=job.pk).stage == Stage.INSPECTION


def test_a_job_on_hold_does_not_move_until_taken_up_again(job, actor):
    complete_booking(job)
    put_aside(job=job, state=JobState.ON_HOLD, reason="waiting for a rotor", actor=actor)
    with pytest.raises(JobRuleError, match="on hold"):
        go_on(job=job, leaving=Stage(job.stage), actor=actor)
    take_up_again(job=job, actor=actor)
    go_on(job=job, leaving=Stage(job.stage), actor=actor)
    assert job.stage == Stage.INSPECTION


def test_a_car_is_sent_back_only_with_a_reason_and_only_backwards(job, actor):
    complete_booking(job)
    go_on(job=job, leaving=Stage(job.stage), actor=actor)
    with pytest.raises(JobRuleError, match="Give the reason"):
        send_back(job=job, stage=Stage.BOOKED, reason="", actor=actor)
    with pytest.raises(JobRuleError, match="earlier stage"):
        send_back(job=job, stage=Stage.FITTING, reason="in a hurry", actor=actor)
    send_back(job=job, stage=Stage.BOOKED, reason="customer wants another day", actor=actor)
    assert job.stage == Stage.BOOKED


def test_a_mechanic_pressing_go_on_too_early_reads_what_is_missing(browser_of, mechanic, job):
    answer = browser_of(mechanic).post(reverse("board:go-on", args=[job.code, job.stage]))
    assert answer.status_code == 422
    assert "the odometer on arrival" in answer.content.decode()


def test_the_owner_gives_the_reason_on_the_page(browser_of, owner, job):
    browser_of(owner).post(reverse("board:go-on", args=[job.code, job.stage]), {"reason": "odometer is broken"})
    assert Job.objects.get(pk=job.pk).stage == Stage.INSPECTION


def test_a_job_put_aside_without_a_reason_is_refused_on_the_page(browser_of, mechanic, job):
    answer = browser_of(mechanic).post(reverse("board:hold", args=[job.code]), {"reason": ""})
    assert answer.status_code == 422
    assert Job.objects.get(pk=job.pk).state == JobState.OPEN


def test_an_owner_s_reason_sent_twice_lets_the_car_past_one_gate_only(browser_of, owner, job):
    url = reverse("board:go-on", args=[job.code, "booked"])
    for _ in range(2):
        browser_of(owner).post(url, {"reason": "odometer is broken"})
    assert Job.objects.get(pk=job.pk).stage == Stage.INSPECTION
    assert GateCrossing.objects.count() == 1


def test_go_on_from_an_old_page_says_where_the_car_is_by_now(browser_of, owner, job):
    Job.objects.filter(pk=job.pk).update(stage=Stage.MAP)
    url = reverse("board:go-on", args=[job.code, "booked"])
    page = browser_of(owner).post(url, {"reason": "odometer is broken"}, follow=True).content.decode()
    assert "The job is now at map" in page
    assert Job.objects.get(pk=job.pk).stage == Stage.MAP


def test_a_job_put_on_hold_in_the_meantime_does_not_move(job, actor):
    complete_booking(job)
    as_seen_before = Job.objects.get(pk=job.pk)
    put_aside(job=job, state=JobState.ON_HOLD, reason="waiting for a rotor", actor=actor)
    with pytest.raises(JobRuleError):
        go_on(job=as_seen_before, leaving=Stage.BOOKED, actor=actor)
    assert Job.objects.get(pk=job.pk).stage == Stage.BOOKED


@pytest.mark.parametrize("action", ["hold", "abandon"])
def test_putting_a_job_aside_twice_is_one_line_in_the_journal(browser_of, mechanic, job, action):
    for _ in range(2):
        browser_of(mechanic).post(reverse(f"board:{action}", args=[job.code]), {"reason": "waiting for a rotor"})
    assert job.journal.count() == 1


def test_taking_a_job_up_again_twice_is_one_line_in_the_journal(browser_of, mechanic, actor, job):
    put_aside(job=job, state=JobState.ON_HOLD, reason="waiting for a rotor", actor=actor)
    for _ in range(2):
        browser_of(mechanic).post(reverse("board:take-up", args=[job.code]))
    assert job.journal.filter(event="taken-up").count() == 1


def test_a_note_sent_twice_is_one_line(browser_of, mechanic, job):
    form = {"idempotency_key": uuid.uuid4(), "words": "The customer rang about the choke."}
    for _ in range(2):
        browser_of(mechanic).post(reverse("board:journal", args=[job.code]), form)
    assert job.journal.count() == 1


def test_another_note_from_an_old_page_is_not_lost_in_silence(browser_of, mechanic, job):
    form = {"idempotency_key": uuid.uuid4(), "words": "The customer rang about the choke."}
    url = reverse("board:journal", args=[job.code])
    browser_of(mechanic).post(url, form)
    answer = browser_of(mechanic).post(url, form | {"words": "The customer comes on Friday."})
    assert answer.status_code == 409
    assert "sent before with other entries" in answer.content.decode()


def test_an_abandoned_job_takes_no_more_facts_about_the_car(browser_of, mechanic, actor, job):
    put_aside(job=job, state=JobState.ABANDONED, reason="the customer sold the car", actor=actor)
    form = {"sweep-id": uuid.uuid4(), "sweep-rpm": 800, "sweep-measured_deg": 8, "sweep-direction": "rising"}
    answer = browser_of(mechanic).post(reverse("inspection:add-sweep-reading", args=[job.code]), form)
    assert answer.status_code == 409
    assert "Resume it first" in answer.content.decode()
    assert not job.sweep_readings.exists()


def test_a_job_on_hold_still_takes_facts(browser_of, mechanic, actor, job):
    put_aside(job=job, state=JobState.ON_HOLD, reason="waiting for a rotor", actor=actor)
    form = {"sweep-id": uuid.uuid4(), "sweep-rpm": 800, "sweep-measured_deg": 8, "sweep-direction": "rising"}
    browser_of(mechanic).post(reverse("inspection:add-sweep-reading", args=[job.code]), form)
    assert job.sweep_readings.count() == 1


def test_an_abandoned_job_still_takes_notes_costs_and_taking_up(browser_of, owner, actor, job):
    put_aside(job=job, state=JobState.ABANDONED, reason="the customer sold the car", actor=actor)
    client = browser_of(owner)
    client.post(
        reverse("board:journal", args=[job.code]), {"idempotency_key": uuid.uuid4(), "words": "Rotor sent after him."}
    )
    cost = {"id": uuid.uuid4(), "kind": "part", "description": "rotor", "quantity": "1", "unit_price": "12"}
    client.post(reverse("costs:page", args=[job.code]), cost)
    client.post(reverse("board:take-up", args=[job.code]))
    assert {line.event for line in job.journal.all()} == {"put-aside", "noted", "cost-entered", "taken-up"}
    assert Job.objects.get(pk=job.pk).state == JobState.OPEN


def test_every_deed_of_an_abandoned_job_is_one_that_is_written(db):
    # Read from the code: a kind that no action writes any more would open nothing, or the wrong thing.
    written = "".join(path.read_text() for path in JOBS.glob("*/*actions.py"))
    assert [kind for kind in AFTER_ABANDONING if f"Event.{kind.name}" not in written] == []


def test_a_unit_goes_into_one_car_of_two_that_want_it(browser_of, mechanic, job):
    unit, other = FittedUnitFactory(), JobFactory()
    seen_before = FittedUnit.objects.get(pk=unit.pk)
    browser_of(mechanic).post(reverse("board:unit", args=[other.code]), {"unit": unit.pk})
    actor = Actor(person=mechanic, at=timezone.now())
    with pytest.raises(JobRuleError, match="is now in"):
        choose_unit(job=job, unit=seen_before, actor=actor)
    assert Job.objects.get(pk=job.pk).unit is None


def test_choosing_a_unit_twice_is_one_line_in_the_journal(browser_of, mechanic, job):
    unit = FittedUnitFactory()
    for _ in range(2):
        browser_of(mechanic).post(reverse("board:unit", args=[job.code]), {"unit": unit.pk})
    assert job.journal.filter(event="unit-chosen").count() == 1


def test_the_journal_begins_with_the_newest_line_and_is_turned_page_by_page(browser_of, mechanic, actor):
    job, client = JobFactory(), browser_of(mechanic)
    for number in range(1, 61):
        note(job=job, words=f"Note {number:02d}.", idempotency_key=uuid.uuid4(), actor=actor)
    url = reverse("board:journal", args=[job.code])
    first = client.get(url)
    newest = first.content.decode()
    oldest = client.get(url, {"after": first.context["page"].after}).content.decode()
    assert newest.index("Note 60.") < newest.index("Note 59.")
    assert "Note 10." not in newest
    assert "Note 10." in oldest
    assert "Note 01." in oldest


def test_the_page_of_the_base_timing_has_its_one_button_where_the_strobe_is_begun(browser_of, mechanic):
    job = JobFactory(stage="base-timing")
    page = browser_of(mechanic).get(stages.stage_url(job, Stage.BASE_TIMING))
    assert page.context["next_action"] is None
    assert page.content.decode().count(f">{stages.progress_of(job, Stage.BASE_TIMING).next_label}</button>") == 1


@pytest.mark.parametrize("stage", ["inspection", "map", "road-test", "handover"])
def test_every_stage_s_own_page_has_the_one_large_button(browser_of, mechanic, stage):
    job = JobFactory(stage=stage)
    page = browser_of(mechanic).get(stages.stage_url(job, Stage(stage)))
    label = stages.progress_of(job, Stage(stage)).next_label
    assert label
    assert page.context["next_action"]["label"] == label
    assert page.context["next_action"]["url"] != page.request["PATH_INFO"]
