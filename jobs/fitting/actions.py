"""Writing down what the rotor page asks for, each figure where it belongs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid5

from django.db import transaction

from garage.record.actor import Actor
from garage.vehicles.actions import change_vehicle
from jobs.checklists.actions import EntryRefusedError, record_entry
from jobs.checklists.models import SheetKind
from jobs.checklists.queries import sheet_record
from jobs.job.models import Job


@dataclass(frozen=True, slots=True)
class SheetAnswer:
    """What is entered for one item of the fitting sheet."""

    key: str
    measure: float | None = None
    choice: str = ""
    note: str = ""


@transaction.atomic
def record_rotor_figures(
    *,
    job: Job,
    id: UUID,
    row_version: int,
    of_car: Mapping[str, Any],
    answers: Sequence[SheetAnswer],
    replaces: list[UUID],
    actor: Actor,
) -> None:
    """Write figures of the distributor to the car and measured ones to the fitting sheet: all of them, or none.

    The same `id` again enters nothing twice. `replaces` are the entries of the sheet that stood on the screen.

    Raises
    ------
    EntryRefusedError
        If the sheet does not take an answer, or there is none yet.
    StaleEditError
        If somebody else changed the car in the meantime.
    """
    if of_car:
        change_vehicle(
            vehicle=job.vehicle, row_version=row_version, values={}, parts={"distributor": dict(of_car)}, actor=actor
        )
    if not answers:
        return
    record = sheet_record(job, SheetKind.FITTING)
    if record is None:
        raise EntryRefusedError("The fitting sheet is not begun. Begin it first.")
    for answer in answers:
        record_entry(
            sheet=record, key=answer.key, id=uuid5(id, answer.key), actor=actor, measure=answer.measure,
            choice=answer.choice, note=answer.note, replaces=replaces,
        )  # fmt: skip
