"""A car that is ready to be handed over, by the shortest honest way."""

import uuid

import pytest
from django.utils import timezone

from garage.people.signature import Signature
from jobs.handover.actions import sign_off
from jobs.maps import queries as maps
from jobs.strobe import actions as strobe
from jobs.strobe.models import Purpose
from tests.factories import JobFactory, VehicleFactory
from tests.jobs_factories import proven_version

SPEEDS = (900, 1000, 1200, 2000, 2500, 3300, 3500, 3600)


@pytest.fixture
def version(signed):
    """A released version, proven in the unit by a clean read-back of the mechanic."""
    job = JobFactory(stage="handover", vehicle=VehicleFactory(registration="KLM 204 B"))
    return proven_version(signed, job=job)


@pytest.fixture
def job(version):
    return version.job


@pytest.fixture
def checked(job, version, signed):
    """The final strobe check by the mechanic, every reading as the map wants it."""
    sitting = strobe.begin_map_sitting(
        job=job,
        purpose=Purpose.FINAL,
        version_id=version.pk,
        version_words=str(version),
        once=uuid.uuid4(),
        signed=signed,
    )
    for rpm in SPEEDS:
        wanted = maps.expected_advance(version.pk, rpm)
        strobe.record_reading(sitting=sitting, id=uuid.uuid4(), rpm=rpm, measured_deg=round(wanted, 1), signed=signed)
    return sitting


@pytest.fixture
def signed_by_second(second_mechanic):
    return Signature(by=second_mechanic, at=timezone.now())


@pytest.fixture
def signed_off(job, checked, signed_by_second):
    return sign_off(job=job, id=uuid.uuid4(), remarks="clean job", signed=signed_by_second)
