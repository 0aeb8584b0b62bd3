"""The board asks the database a few questions a stage, however many cars stand in the yard."""

import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from jobs.board.queries import board
from jobs.handover.models import SignOff
from jobs.inspection.actions import give_verdict, record_mark_check, record_sweep_reading
from jobs.job.models import GateCrossing, Stage
from jobs.roadtest.models import RoadNote, RoadRun
from jobs.strobe.models import Purpose, StrobeReading, StrobeSession
from tests.checklists.factories import enter, sheet_with
from tests.factories import JobFactory, WorkshopFactory, fact_of
from tests.jobs_factories import proven_version

pytestmark = pytest.mark.django_db


def car_with_a_past(stage, actor):
    """A job at `stage` of which every room has something to tell."""
    job = proven_version(actor, job=JobFactory(stage=stage)).job
    version = job.map_versions.get()
    enter(sheet_with([{"key": "fuse"}, {"key": "coil"}], person=actor.person, job=job), "fuse", actor.person)
    for rpm in (800, 1500):
        record_sweep_reading(job=job, id=uuid.uuid4(), rpm=rpm, measured_deg=8, direction="rising", actor=actor)
    record_mark_check(job=job, id=uuid.uuid4(), first_deg=-36, second_deg=36, mark_deg=0, actor=actor)
    give_verdict(job=job, id=uuid.uuid4(), fitness="talk to the owner", remarks="no compression read", actor=actor)
    for purpose in (Purpose.BASE, Purpose.FINAL):
        base = {"base_deg": 8.0} if purpose == Purpose.BASE else {"map_version": version}
        session = StrobeSession.objects.create(
            job=job, purpose=purpose, tolerance_deg=1, begun_at=timezone.now(), begun_by=actor.person, **base
        )
        for rpm in (800, 2500):
            StrobeReading.objects.create(**fact_of(actor), session=session, rpm=rpm, measured_deg=8, expected_deg=8)
    run = RoadRun.objects.create(
        job=job, map_version=version, route="Quarry hill", driver=actor.person, begun_at=timezone.now()
    )
    RoadNote.objects.create(**fact_of(actor), run=run, kind="surge")
    SignOff.objects.create(**fact_of(actor), job=job, map_version=version)
    GateCrossing.objects.create(job=job, left="handover", entered="after-care", by=actor.person, at=timezone.now())
    return job


def questions_for_the_board():
    with CaptureQueriesContext(connection) as asked:
        rows = board(timezone.localdate())
    shown = [row for one in rows.lists for row in one.rows]
    return len(asked), len(shown)


def test_three_cars_at_every_stage_cost_no_more_questions_than_one(actor):
    WorkshopFactory()
    for stage in Stage:
        car_with_a_past(stage, actor)
    questions, cars = questions_for_the_board()
    assert cars == len(Stage)
    for stage in Stage:
        car_with_a_past(stage, actor)
        car_with_a_past(stage, actor)
    assert questions_for_the_board() == (questions, 3 * len(Stage))
