"""The plan as iCalendar (RFC 5545), for calendars that read an address.

A day of the workshop is a DATE without a time or zone: it is the same day wherever the calendar is opened, and no hour
that a clock skips or repeats can move it.
"""

import re
from collections.abc import Callable, Iterable
from datetime import date, datetime, timedelta
from uuid import uuid5

from icalendar import Calendar, Event

from garage.people.models import Staff
from garage.rota.models import Absence
from garage.rota.queries import absences_between
from jobs.job.models import Job
from jobs.week import queries
from jobs.week.models import CalendarFeed
from jobs.week.plan import Card, cards_of

A_DAY = timedelta(days=1)
# How far a calendar sees back and ahead.
BACK, AHEAD = timedelta(days=60), timedelta(days=400)
# RFC 5545, 3.1: no control character stands in a line; the last two part lines for some who read them.
_PARTS_LINES = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]+")


def feed_bytes(
    feed: CalendarFeed, *, workshop_name: str, at: datetime, today: date, job_url: Callable[[Job], str]
) -> bytes:
    """What a calendar reads of `feed`: the cars that come and are promised, and who is away.

    `at` is the moment of asking, `today` the workshop's day then.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//Crankmark//Week//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    name = _one_line(f"{workshop_name}: {feed.person}" if feed.person else workshop_name)
    calendar.add("name", name)
    calendar.add("x-wr-calname", name)
    calendar.add("refresh-interval", timedelta(hours=1), parameters={"value": "DURATION"})
    jobs = queries.jobs_to_do().select_related("vehicle__customer", "mechanic", "bay").order_by("code")
    if feed.person:
        jobs = jobs.filter(mechanic=feed.person)
    for job in jobs:
        for card in cards_of(job, today):
            calendar.add_component(_of_car(card, feed, at, job_url(job)))
    for absence in _absences(feed.person, today):
        calendar.add_component(_of_absence(absence, at))
    return bytes(calendar.to_ical())


def _absences(person: Staff | None, today: date) -> Iterable[Absence]:
    found = absences_between(today - BACK, today + AHEAD)
    return found.filter(person=person) if person else found.filter(person__is_active=True)


def _of_car(card: Card, feed: CalendarFeed, at: datetime, url: str) -> Event:
    job = card.job
    day: date = getattr(job, card.column)
    car = f"{job.vehicle.registration} {job.vehicle.name}".strip()
    said = [f"Job {job.code}, {job.get_kind_display()}"]
    said += [f"With {job.mechanic}"] if job.mechanic else []
    said += [f"Bay: {job.bay}"] if job.bay else []
    said += [f"Customer: {job.vehicle.customer}"] if feed.with_names else []
    event = _all_day(day, day, at)
    event.add("uid", f"{uuid5(job.idempotency_key, card.column)}")
    event.add("sequence", job.row_version)
    event.add("summary", _one_line(f"{card.label}: {car}"))
    event.add("description", "\n".join(_one_line(line) for line in said))
    event.add("url", url)
    return event


def _of_absence(absence: Absence, at: datetime) -> Event:
    event = _all_day(absence.first_day, absence.last_day, at)
    event.add("uid", f"{uuid5(absence.idempotency_key, 'away')}")
    event.add("summary", _one_line(f"Away: {absence.person}"))
    return event


def _one_line(text: str) -> str:
    return _PARTS_LINES.sub(" ", text).strip()


def _all_day(first: date, last: date, at: datetime) -> Event:
    """RFC 5545, 3.6.1: the end of an event is not part of it, so that of a day is the next one."""
    event = Event()
    event.add("dtstamp", at)
    event.add("dtstart", first)
    event.add("dtend", min(last, date.max - A_DAY) + A_DAY)
    event.add("transp", "TRANSPARENT")
    event.add("class", "PRIVATE")
    return event
