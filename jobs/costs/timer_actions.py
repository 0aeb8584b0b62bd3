"""Hours by a timer: started and stopped at the car, one at a time for each person."""

from datetime import datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from garage.people.models import Staff
from garage.people.queries import get_workshop
from garage.record.actor import Actor
from garage.record.append import append
from garage.record.events import Event
from garage.record.refusals import RuleRefusedError
from jobs.costs.actions import enter_cost
from jobs.costs.forms import NO_RATE
from jobs.costs.models import CostKind, CostLine, WorkTimer
from jobs.costs.queries import is_current, stage_of_hours
from jobs.job import journal
from jobs.job.models import Job

HUNDREDTH = Decimal("0.01")


class TimerRefusedError(RuleRefusedError):
    """A timer cannot be started or stopped like this. Says why."""


class EndUnknownError(TimerRefusedError):
    """The timer was forgotten: only the person knows when the work ended."""

    def __init__(self, timer: WorkTimer) -> None:
        self.timer = timer
        began = timezone.localtime(timer.started_at)
        super().__init__(f"Your timer on job {timer.job.code} runs since {began:%-d %b, %H:%M}. Enter its end.")


def running_timer(person_id: int) -> WorkTimer | None:
    """The timer of a person that runs now, on whichever job."""
    return WorkTimer.objects.filter(person_id=person_id, stopped_at=None).select_related("job").first()


def is_forgotten(timer: WorkTimer, at: datetime) -> bool:
    """Whether a timer has run over night, for too long, or began after `at`: then its end is asked for."""
    began, now = timezone.localtime(timer.started_at), timezone.localtime(at)
    return now.date() != began.date() or not timedelta(0) <= at - timer.started_at < forgotten_after()


def forgotten_after() -> timedelta:
    """How long a timer may run before its end is asked for."""
    return timedelta(hours=get_workshop().timer_hours)


@transaction.atomic
def start_timer(*, job: Job, id: UUID, actor: Actor) -> WorkTimer | None:
    """Start the timer of `actor.person` on the stage that `job` is at, and give back the one that this stopped.

    Raises
    ------
    EndUnknownError
        If another timer of this person was forgotten.
    TimerRefusedError
        If the workshop has no hourly rate yet: its hours could not be written down.
    """
    Staff.objects.select_for_update().get(pk=actor.person.pk)  # of two taps at once, the second waits
    if WorkTimer.objects.filter(pk=id).exists():
        return None
    if get_workshop().hourly_rate is None:
        raise TimerRefusedError(NO_RATE)
    running = running_timer(actor.person.pk)
    if running and (running.job_id, running.stage) == (job.pk, job.stage) and not is_forgotten(running, actor.at):
        return None
    if running:
        stop_timer(timer=running, ended_at=None, actor=actor)
    timer = WorkTimer.objects.create(id=id, job=job, person=actor.person, stage=job.stage, started_at=actor.at)
    journal.write(job, Event.TIMER_STARTED, f"Timer started: {timer.get_stage_display()}", actor=actor)
    return running


@transaction.atomic
def stop_timer(*, timer: WorkTimer, ended_at: datetime | None, actor: Actor) -> CostLine | None:
    """Stop a timer, and write down its hours; None where that is less than half a hundredth of an hour.

    `ended_at` is when the work ended, where the timer ran on after it. Stopping twice is once.

    Raises
    ------
    EndUnknownError
        If the timer was forgotten and `ended_at` is not said.
    TimerRefusedError
        If the end lies before the start, after now, or so late that nobody worked that long.
    """
    timer = WorkTimer.objects.select_for_update(of=("self",)).select_related("job").get(pk=timer.pk)
    if timer.stopped_at is not None:
        return timer.line
    if ended_at is None and is_forgotten(timer, actor.at):
        raise EndUnknownError(timer)
    end = ended_at or actor.at
    # A clock that went back is no reason to lose the hours: the end that is typed may lie after it.
    if end < timer.started_at:
        raise TimerRefusedError("This is before the start.")
    longest = forgotten_after()
    if ended_at is not None and end > max(actor.at, timer.started_at + longest):
        raise TimerRefusedError("This lies ahead.")
    if end - timer.started_at > longest:
        raise TimerRefusedError(f"At most {longest // timedelta(hours=1)} hours. Enter longer work by hand.")
    hours = hours_between(timer.started_at, end)
    rate = get_workshop().hourly_rate
    line = None
    if hours and rate is not None:
        line = enter_cost(
            job=timer.job,
            id=uuid5(timer.pk, "hours"),
            kind=CostKind.HOURS,
            description=timer.get_stage_display().capitalize(),
            quantity=hours,
            unit_price=rate,
            stage=timer.stage,
            actor=actor,
        )
    else:
        journal.write(timer.job, Event.TIMER_STOPPED, "Timer stopped at once: no hours", actor=actor)
    timer.stopped_at, timer.line = end, line
    timer.save(update_fields=["stopped_at", "line"])
    return line


def hours_between(start: datetime, end: datetime) -> Decimal:
    """How long that is, to a hundredth. [hours]"""
    seconds = Decimal((end - start) // timedelta(microseconds=1)) / 1_000_000
    return (seconds / 3600).quantize(HUNDREDTH, ROUND_HALF_UP)


@transaction.atomic
def correct_hours(*, line: CostLine, id: UUID, hours: Decimal, reason: str, actor: Actor) -> CostLine:
    """Put other hours in the place of `line`, with the reason. The first figure stays in the book.

    Raises
    ------
    TimerRefusedError
        If the line was undone or corrected meanwhile.
    """
    if not CostLine.objects.filter(pk=id).exists() and not is_current(line):
        raise TimerRefusedError("These hours were changed meanwhile. Reload the page.")
    corrected, is_new = append(
        CostLine,
        id=id,
        actor=actor,
        supersedes=line,
        job=line.job,
        kind=line.kind,
        description=line.description,
        quantity=hours,
        unit_price=line.unit_price,
    )
    if is_new:
        sentence = f"Corrected hours: {line.quantity:f} h is {hours:f} h, {line.description}. {reason}"
        journal.write(
            line.job, Event.COST_ENTERED, sentence, actor=actor, stage=stage_of_hours(line), line=str(corrected.pk)
        )
    return corrected
