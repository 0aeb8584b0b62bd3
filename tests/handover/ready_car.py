"""A car that is ready to be handed over, by the shortest honest way."""

import uuid

import pytest
from django.utils import timezone

from garage.record.actor import Actor
from jobs.handover.actions import sign_off
from jobs.maps import queries as maps
from jobs.strobe import actions as strobe
from jobs.strobe.models import Purpose
from tests.factories import JobFactory, VehicleFactory
from tests.jobs_factories import proven_version

SPEEDS = (900, 1000, 1200, 2000, 2500, 3300, 3500, 3600)
PIPE_ON = ((2000, 20.0), (2500, 40.0))  # rpm, kPa


@pytest.fixture
def version(actor):
    """A released version, proven in the unit by a clean read-back of the mechanic."""
    job = JobFactory(stage="handover", vehicle=VehicleFactory(registration="KLM 204 B"))
    return proven_version(actor, job=job)


@pytest.fixture
def job(version):
    return version.job


def read_as_the_map_gives(session, version, actor, speeds=SPEEDS, pipe_on=()):
    """Readings that agree with the map, pipe off at `speeds` and pipe on at each (rpm, kPa)."""
    for rpm, kpa in [*((rpm, None) for rpm in speeds), *pipe_on]:
        strobe.record_reading(
            session=session,
            id=uuid.uuid4(),
            rpm=rpm,
            measured_deg=round(maps.expected_advance(version.pk, rpm, kpa or 0.0), 1),
            vacuum_kpa=kpa,
            vacuum_unit="kPa" if kpa else "",
            actor=actor,
        )


@pytest.fixture
def checked(job, version, actor):
    """The final strobe check by the mechanic, every reading as the map wants it."""
    session = strobe.begin_map_session(
        job=job,
        purpose=Purpose.FINAL,
        version_id=version.pk,
        version_words=str(version),
        idempotency_key=uuid.uuid4(),
        actor=actor,
    )
    read_as_the_map_gives(session, version, actor)
    return session


@pytest.fixture
def second_actor(second_mechanic):
    return Actor(person=second_mechanic, at=timezone.now())


@pytest.fixture
def signed_off(job, checked, second_actor):
    return sign_off(job=job, id=uuid.uuid4(), remarks="clean job", actor=second_actor)
