"""The board asks the database a few questions a stage, however many cars stand in the yard."""

import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from jobs.card.models import GateCrossing, Stage
from jobs.card.queries import board
from jobs.handover.models import SignOff
from jobs.inspection.actions import give_verdict, record_mark_check, record_sweep_reading
from jobs.roadtest.models import RoadNote, RoadRun
from jobs.strobe.models import Purpose, StrobeReading, StrobeSitting
from tests.factories import JobFactory, WorkshopFactory, fact_of
from tests.fitting.factories import enter, sheet_with
from tests.jobs_factories import proven_version

pytestmark = pytest.mark.django_db


def car_with_a_past(stage, signed):
    """A job at `stage` of which every room has something to tell."""
    job = proven_version(signed, job=JobFactory(stage=stage)).job
    version = job.map_versions.get()
    enter(sheet_with([{"key": "fuse"}, {"key": "coil"}], person=signed.by, job=job), "fuse", signed.by)
    for rpm in (800, 1500):
        record_sweep_reading(job=job, id=uuid.uuid4(), rpm=rpm, measured_deg=8, direction="rising", signed=signed)
    record_mark_check(job=job, id=uuid.uuid4(), first_deg=-36, second_deg=36, mark_deg=0, signed=signed)
    give_verdict(job=job, id=uuid.uuid4(), fitness="ready", remarks="", signed=signed)
    for purpose in (Purpose.BASE, Purpose.FINAL):
        base = {"base_deg": 8.0} if purpose == Purpose.BASE else {"map_version": version}
        sitting = StrobeSitting.objects.create(
            job=job, purpose=purpose, begun_at=timezone.now(), begun_by=signed.by, **base
        )
        for rpm in (800, 2500):
            StrobeReading.objects.create(**fact_of(signed), sitting=sitting, rpm=rpm, measured_deg=8, expected_deg=8)
    run = RoadRun.objects.create(
        job=job, map_version=version, route="Quarry hill", driver=signed.by, begun_at=timezone.now()
    )
    RoadNote.objects.create(**fact_of(signed), run=run, kind="surge")
    SignOff.objects.create(**fact_of(signed), job=job, map_version=version)
    GateCrossing.objects.create(job=job, left="handover", entered="after-care", by=signed.by, at=timezone.now())
    return job


def questions_for_the_board():
    with CaptureQueriesContext(connection) as asked:
        rows = board(timezone.localdate())
    shown = [row for place in (rows.in_hand, rows.booked, rows.after_care) for row in place]
    return len(asked), len(shown)


def test_three_cars_at_every_stage_cost_no_more_questions_than_one(signed):
    WorkshopFactory()
    for stage in Stage:
        car_with_a_past(stage, signed)
    questions, cars = questions_for_the_board()
    assert cars == len(Stage)
    for stage in Stage:
        car_with_a_past(stage, signed)
        car_with_a_past(stage, signed)
    assert questions_for_the_board() == (questions, 3 * len(Stage))
