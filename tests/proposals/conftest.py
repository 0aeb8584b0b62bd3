"""A car with a version proven in it, and what is noted of it on the road."""

import uuid
from dataclasses import replace
from datetime import timedelta

import pytest

from jobs.job.actions import choose_unit
from jobs.maps.actions import release
from jobs.roadtest import actions as road
from tests.factories import JobFactory
from tests.jobs_factories import FittedUnitFactory, proven_version, read_back_clean

KPA_PER_INHG = 3.386388640341  # NIST SP 811 (2008), appendix B.8, conventional inch of mercury
CURVE = [[500, 0], [1000, 0], [2000, 14], [2500, 18], [3000, 20], [4000, 22]]


@pytest.fixture
def job(actor):
    return JobFactory(stage="road-test")


@pytest.fixture
def in_car(job, actor):
    """Version 1, released and read back clean."""
    return proven_version(actor, job=job, base_deg=6.0, curve=CURVE, vacuum_unit="inHg")


class Road:
    """Drives a version and keeps what was noted."""

    def __init__(self, job, actor, writer):
        self.job, self.actor, self.writer, self.hours = job, actor, writer, 0

    def drive(self, version, *notes):
        """A run with `version`; each note is (kind, severity, rpm, inHg) and what else is said."""
        self.hours += 1
        actor = replace(self.actor, at=self.actor.at + timedelta(hours=self.hours))
        run = road.begin_run(
            job=self.job, version_id=version.pk, version_words=str(version), route="Beacon hill",
            driver=self.actor.person, writer=self.writer, idempotency_key=uuid.uuid4(), actor=actor,
        )  # fmt: skip
        for kind, severity, rpm, inhg, *more in notes:
            self.note(run, kind, severity, rpm, inhg, actor, **(more[0] if more else {}))
        return run

    def note(self, run, kind, severity, rpm, inhg, actor=None, **more):
        return road.take_note(
            run=run, id=uuid.uuid4(), kind=kind, severity=severity, rpm=rpm,
            vacuum_kpa=None if inhg is None else inhg * KPA_PER_INHG, vacuum_unit="inHg",
            actor=actor or self.actor, **more,
        )  # fmt: skip


@pytest.fixture
def on_the_road(job, actor, second_mechanic):
    return Road(job, actor, second_mechanic)


@pytest.fixture
def into_the_car(actor):
    """Release a draft, key it in and read it back clean."""

    def put(draft):
        draft.refresh_from_db()
        release(draft=draft, row_version=draft.row_version, actor=actor)
        if draft.job.unit is None:
            choose_unit(job=draft.job, unit=FittedUnitFactory(revision=draft.unit_revision), actor=actor)
        later = replace(actor, at=actor.at + timedelta(minutes=draft.number))
        draft.job.refresh_from_db()
        read_back_clean(draft, later)
        return draft

    return put
