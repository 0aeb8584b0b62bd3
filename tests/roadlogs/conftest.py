"""A run with a released map in the car, and the log of a published driving cycle."""

import uuid
from datetime import timedelta

import pytest

from garage.record.actor import Actor
from jobs.demo.road_log import CAR, as_csv, driven
from jobs.roadlogs import actions, columns, raw, shape
from jobs.roadlogs.importing import read_in
from jobs.roadtest.actions import begin_run, take_note
from tests.factories import JobFactory
from tests.jobs_factories import released_version
from tests.roadlogs.cycle import speed_of_cycle


@pytest.fixture
def run(actor, second_mechanic):
    return begun(actor, second_mechanic)


def begun(actor, writer):
    """A run with a released map."""
    job = JobFactory(stage="road-test")
    version = released_version(actor, job=job)
    return begin_run(
        job=job,
        version_id=version.pk,
        version_words=str(version),
        route="Quarry hill",
        driver=actor.person,
        writer=writer,
        idempotency_key=uuid.uuid4(),
        actor=actor,
    )


@pytest.fixture(scope="session")
def cycle():
    """The drive of four elementary cycles by an invented car."""
    return driven(*speed_of_cycle())


@pytest.fixture(scope="session")
def cycle_csv(cycle):
    return as_csv(cycle, pinks=False)


def uploaded(run, actor, content, name="hill.csv"):
    with raw.received([content]) as received:
        return actions.upload_log(
            run=run,
            received=received,
            file_name=name,
            shape=shape.guessed(received.head),
            idempotency_key=uuid.uuid4(),
            actor=actor,
        )


def confirmed(log, actor, *, knock_limit=None, kept_as="", **units):
    """The columns as they are guessed, with other `units` where they are given."""
    layout = shape.FileShape.from_json(log.shape)
    preview = shape.preview_of(raw.head_of(log.file), layout)
    mapped = columns.guessed(preview)
    mapped |= {role: columns.Mapped(mapped[role].column, unit) for role, unit in units.items()}
    actions.confirm_columns(
        log=log,
        shape=layout,
        preview=preview,
        columns=mapped,
        barometer_kpa=CAR.barometer_kpa,
        knock_limit=knock_limit,
        kept_as=kept_as,
        actor=actor,
    )
    log.refresh_from_db()
    return log


def read(run, actor, content, **asked):
    """A log of `run` as it stands once it was read."""
    log = confirmed(uploaded(run, actor, content), actor, **asked)
    read_in(log_id=log.pk, tries=log.tries)
    log.refresh_from_db()
    return log


def later(actor, seconds):
    return Actor(person=actor.person, at=actor.at + timedelta(seconds=seconds))


def hear(run, actor, seconds, rpm=None, vacuum=None):
    """Pinking, noted so many seconds after the start."""
    return take_note(
        run=run, id=uuid.uuid4(), kind="pinking", severity=2, rpm=rpm, vacuum_kpa=vacuum, actor=later(actor, seconds)
    )
