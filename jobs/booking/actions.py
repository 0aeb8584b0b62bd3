"""Booking a car with its photographs: all of it is saved, or nothing."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID, uuid5

from django.core.files.base import ContentFile
from django.db import transaction

from garage.files.storage import discarded_on_failure
from garage.record.actor import Actor
from garage.record.append import append
from garage.record.events import Event
from garage.units.models import FittedUnit
from garage.vehicles.actions import Parts, change_vehicle
from garage.vehicles.models import Vehicle
from jobs.booking.models import BookingPhotograph
from jobs.checklists.photographs import Picture
from jobs.job import actions, journal
from jobs.job.models import Job


@discarded_on_failure()
@transaction.atomic
def book(
    *,
    vehicle: Vehicle | None,
    new_car: dict[str, str],
    pictures: Sequence[Picture],
    idempotency_key: UUID,
    actor: Actor,
    unit: FittedUnit | None = None,
    **typed: Any,
) -> Job:
    """Book `vehicle`, or the `new_car` where that is None, and keep the `pictures` of it. Twice is once.

    A `unit` from the shelf is put into the car.

    Raises
    ------
    JobRuleError
        If the unit has gone into another car in the meantime.
    """
    if vehicle is None:
        job = actions.book_new_car(idempotency_key=idempotency_key, actor=actor, **new_car, **typed)
    else:
        job = actions.book_job(vehicle=vehicle, idempotency_key=idempotency_key, actor=actor, **typed)
    if unit is not None:
        actions.choose_unit(job=job, unit=unit, actor=actor)
    _keep(job, pictures, actor)
    return job


@discarded_on_failure()
@transaction.atomic
def change_booking(*, job: Job, row_version: int, pictures: Sequence[Picture], actor: Actor, **values: Any) -> None:
    """Change what was booked, and keep more `pictures`. Raises `StaleEditError` as `edit_booking` does."""
    actions.edit_booking(job=job, row_version=row_version, actor=actor, **values)
    _keep(job, pictures, actor)


@transaction.atomic
def enter_needed(
    *,
    job: Job,
    row_version: int,
    values: dict[str, Any],
    parts: Parts,
    unit: FittedUnit | None,
    sentence: str,
    actor: Actor,
) -> None:
    """What the work needs to know of the car, and the unit that goes in. `sentence` says where the values are from.

    Raises
    ------
    StaleEditError
        If somebody else changed the car in the meantime.
    JobRuleError
        If the unit has gone into another car in the meantime.
    """
    change_vehicle(
        vehicle=job.vehicle, row_version=row_version, values=values, parts=parts, actor=actor, sentence=sentence
    )
    if unit is not None:
        actions.choose_unit(job=job, unit=unit, actor=actor)


def _keep(job: Job, pictures: Sequence[Picture], actor: Actor) -> None:
    """Append the photographs: the same picture of a job is one, however often it is sent."""
    if not pictures:
        return
    Job.objects.select_for_update().get(pk=job.pk)  # of one form sent twice at once, the second waits here
    by_id = {uuid5(job.idempotency_key, picture.sha256): picture for picture in pictures}
    known = set(BookingPhotograph.objects.filter(pk__in=by_id).values_list("pk", flat=True))
    new = {id: picture for id, picture in by_id.items() if id not in known}
    for id, picture in new.items():
        append(
            BookingPhotograph,
            id=id,
            actor=actor,
            job=job,
            file=ContentFile(picture.image, name=f"{job.code}/{id}.jpg"),
            thumbnail=ContentFile(picture.thumbnail, name=f"{job.code}/{id}-small.jpg"),
            width=picture.width,
            height=picture.height,
            sha256=picture.sha256,
        )
    if new:
        words = "1 photograph" if len(new) == 1 else f"{len(new)} photographs"
        sentence = f"{words} added to the booking"
        journal.write(job, Event.BOOKING_PHOTOGRAPH, sentence, actor=actor, photographs=list(map(str, new)))
