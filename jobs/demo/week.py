"""The demo's week: two bays, a day off, and who works on which car until when."""

from datetime import date, timedelta
from uuid import uuid4

from django.utils import timezone

from garage.rota.actions import add_bay, enter_absence
from jobs.demo.diary import SATURDAY
from jobs.demo.people import Crew
from jobs.job.actions import edit_booking
from jobs.job.models import Stage
from jobs.week.queries import jobs_to_do

# How many working days from today each car in the workshop is promised: one is late.
PROMISED = (-1, 2, 4, 5, 3, 6)
AFTER_IT_COMES = 3


def plan_the_week(crew: Crew) -> None:
    """Give every car that is not handed over a mechanic and a promised day, and those that are here a bay."""
    desk = crew.at_the_desk(crew.bea, 0, "08:30")
    house = crew.at_the_desk(crew.owner, 30, "08:30")
    bays = [add_bay(name=name, idempotency_key=uuid4(), actor=house.sign()) for name in ("Bay 1", "Bay 2")]
    today = timezone.localdate(crew.now)
    enter_absence(
        person=crew.tam, first_day=working_day(today, 7), last_day=working_day(today, 9), idempotency_key=uuid4(),
        actor=desk.sign(),
    )  # fmt: skip
    here = 0
    for number, job in enumerate(jobs_to_do().order_by("code")):
        mechanic = (crew.ines, crew.tam)[number % 2]
        values: dict[str, object] = {"mechanic": mechanic}
        if job.stage == Stage.BOOKED and job.booked_for:
            values["promised_for"] = working_day(max(job.booked_for, today), AFTER_IT_COMES)
        else:
            values |= {"promised_for": working_day(today, PROMISED[here % len(PROMISED)]), "bay": bays[here % 2]}
            here += 1
        edit_booking(job=job, row_version=job.row_version, actor=desk.sign(), **values)


def working_day(day: date, ahead: int) -> date:
    """The working day so many after `day`, or before it for a negative number."""
    step = timedelta(days=1 if ahead >= 0 else -1)
    while ahead or day.weekday() >= SATURDAY:
        day += step
        if ahead and day.weekday() < SATURDAY:
            ahead -= 1 if ahead > 0 else -1
    return day
