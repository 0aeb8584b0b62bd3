"""Saying who works when, and which bays there are."""

from datetime import date
from decimal import Decimal
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone

from garage.people.models import Staff
from garage.quantities.days import TOO_FAR, too_far
from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.idempotency import refuse_unless_same
from garage.record.refusals import RuleRefusedError
from garage.record.row_versions import already_holds, save_if_unchanged
from garage.record.trail import note_change, said_of
from garage.rota.models import WEEKDAYS, Absence, Bay, WorkingWeek


class RotaRuleError(RuleRefusedError):
    """Something the rota does not take. Says why."""


@transaction.atomic
def set_working_week(*, person: Staff, row_version: int, hours: dict[str, Decimal], actor: Actor) -> None:
    """Say how long `person` works on each day of a usual week. [hours]

    Raises
    ------
    StaleEditError
        If somebody else changed it in the meantime.
    """
    week, _ = WorkingWeek.objects.get_or_create(person=person)
    if already_holds(week, hours):
        return
    before = said_of(week, list(WEEKDAYS))
    save_if_unchanged(week, row_version=row_version, values=hours)
    note_change(person, before=before, after=said_of(week, list(WEEKDAYS)), actor=actor, sentence="Working hours")


@transaction.atomic
def enter_absence(*, person: Staff, first_day: date, last_day: date, idempotency_key: UUID, actor: Actor) -> Absence:
    """Say that `person` is away from `first_day` to `last_day`. The same `idempotency_key` again is the same absence.

    Raises
    ------
    RotaRuleError
        If the last day comes before the first, or one of them is years away.
    """
    if last_day < first_day:
        raise RotaRuleError("The last day comes before the first.")
    today = timezone.localdate(actor.at)
    if too_far(first_day, today) or too_far(last_day, today):
        raise RotaRuleError(TOO_FAR)
    values = {"person": person, "first_day": first_day, "last_day": last_day}
    absence, is_new = Absence.objects.get_or_create(
        idempotency_key=idempotency_key, defaults={**values, "made_at": actor.at, "made_by": actor.person}
    )
    if is_new:
        trail.write(Event.ABSENCE_ENTERED, person, f"Away {absence.days}", actor=actor)
    else:
        refuse_unless_same(absence, values)
    return absence


@transaction.atomic
def cancel_absence(*, absence: Absence, actor: Actor) -> None:
    """The person is there after all. Twice is once."""
    if Absence.objects.filter(pk=absence.pk, cancelled_at=None).update(cancelled_at=actor.at):
        trail.write(Event.ABSENCE_CANCELLED, absence.person, f"Not away {absence.days}", actor=actor)


@transaction.atomic
def add_bay(*, name: str, idempotency_key: UUID, actor: Actor) -> Bay:
    """A new bay. The same `idempotency_key` again is the same bay.

    Raises
    ------
    RotaRuleError
        If there is a bay of that name.
    """
    try:
        with transaction.atomic():
            bay, is_new = Bay.objects.get_or_create(
                idempotency_key=idempotency_key, defaults={"name": name, "made_at": actor.at}
            )
    except IntegrityError as clash:
        raise RotaRuleError("There is a bay of this name.") from clash
    if is_new:
        trail.write(Event.MADE, bay, f"Bay added: {name}", actor=actor)
    else:
        refuse_unless_same(bay, {"name": name})
    return bay


@transaction.atomic
def close_bay(*, bay: Bay, actor: Actor) -> None:
    """Nothing new is put there; cars that stand there stay. Twice is once."""
    if Bay.objects.filter(pk=bay.pk, is_closed=False).update(is_closed=True):
        trail.write(Event.CHANGED, bay, f"Bay closed: {bay}", actor=actor)


@transaction.atomic
def open_bay(*, bay: Bay, actor: Actor) -> None:
    """A bay that was closed takes cars again. Twice is once."""
    if Bay.objects.filter(pk=bay.pk, is_closed=True).update(is_closed=False):
        trail.write(Event.CHANGED, bay, f"Bay opened: {bay}", actor=actor)
