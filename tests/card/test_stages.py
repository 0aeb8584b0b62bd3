"""Taking a car from stage to stage."""

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from garage.people.signature import Signature
from jobs.card.actions import GateClosedError, JobRuleError, go_on, put_aside, send_back, take_up_again
from jobs.card.models import GateCrossing, Job, JobState, Stage
from tests.factories import JobFactory


@pytest.fixture
def job(db):
    return JobFactory()


@pytest.fixture
def signed_by_owner(owner):
    return Signature(by=owner, at=timezone.now())


def complete_booking(job):
    Job.objects.filter(pk=job.pk).update(booked_for=timezone.localdate(), odometer=61204)
    job.refresh_from_db()


def test_a_complete_booking_opens_the_gate_to_the_inspection(job, signed):
    complete_booking(job)
    go_on(job=job, signed=signed)
    assert job.stage == Stage.INSPECTION
    assert job.journal.get().sentence == "Booked done, on to inspection"


def test_a_mechanic_does_not_get_past_a_gate_with_something_missing(job, signed):
    with pytest.raises(GateClosedError, match="odometer"):
        go_on(job=job, signed=signed, reason="we know the car")
    assert Job.objects.get(pk=job.pk).stage == Stage.BOOKED


def test_the_owner_lets_a_car_past_with_a_reason_that_the_journal_keeps(job, signed_by_owner):
    go_on(job=job, signed=signed_by_owner, reason="odometer is broken")
    assert job.stage == Stage.INSPECTION
    crossing = GateCrossing.objects.get()
    assert crossing.missing
    assert "odometer is broken" in job.journal.get().sentence


def test_not_even_the_owner_passes_a_closed_gate_without_a_reason(job, signed_by_owner):
    with pytest.raises(GateClosedError):
        go_on(job=job, signed=signed_by_owner)


def test_the_database_wants_a_reason_for_a_gate_passed_unmet(job, mechanic):
    with pytest.raises(IntegrityError, match="gate_passed_unmet_with_reason"), transaction.atomic():
        GateCrossing.objects.create(
            job=job, left="booked", entered="inspection", missing=["all"], by=mechanic, at=timezone.now()
        )


def test_pressing_go_on_twice_moves_the_car_one_stage(job, signed):
    complete_booking(job)
    as_seen_by_the_second = Job.objects.get(pk=job.pk)
    go_on(job=job, signed=signed)
    with pytest.raises(JobRuleError, match="Somebody else moved this job"):
        go_on(job=as_seen_by_the_second, signed=signed)
    assert Job.objects.get(pk=job.pk).stage == Stage.INSPECTION


def test_a_job_on_hold_does_not_move_until_taken_up_again(job, signed):
    complete_booking(job)
    put_aside(job=job, state=JobState.ON_HOLD, reason="waiting for a rotor", signed=signed)
    with pytest.raises(JobRuleError, match="on hold"):
        go_on(job=job, signed=signed)
    take_up_again(job=job, signed=signed)
    go_on(job=job, signed=signed)
    assert job.stage == Stage.INSPECTION


def test_a_car_is_sent_back_only_with_a_reason_and_only_backwards(job, signed):
    complete_booking(job)
    go_on(job=job, signed=signed)
    with pytest.raises(JobRuleError, match="why"):
        send_back(job=job, stage=Stage.BOOKED, reason="", signed=signed)
    with pytest.raises(JobRuleError, match="earlier stage"):
        send_back(job=job, stage=Stage.FITTING, reason="in a hurry", signed=signed)
    send_back(job=job, stage=Stage.BOOKED, reason="customer wants another day", signed=signed)
    assert job.stage == Stage.BOOKED


def test_a_mechanic_pressing_go_on_too_early_reads_what_is_missing(browser_of, mechanic, job):
    answer = browser_of(mechanic).post(reverse("card:go-on", args=[job.code]))
    assert answer.status_code == 422
    assert "the odometer on arrival" in answer.content.decode()


def test_the_owner_gives_the_reason_on_the_page(browser_of, owner, job):
    browser_of(owner).post(reverse("card:go-on", args=[job.code]), {"reason": "odometer is broken"})
    assert Job.objects.get(pk=job.pk).stage == Stage.INSPECTION


def test_a_job_put_aside_without_a_reason_is_refused_on_the_page(browser_of, mechanic, job):
    answer = browser_of(mechanic).post(reverse("card:hold", args=[job.code]), {"reason": ""})
    assert answer.status_code == 422
    assert Job.objects.get(pk=job.pk).state == JobState.OPEN
