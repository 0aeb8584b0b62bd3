"""Which customers are to be reminded and in which ways, which are not and why, and setting letters as one PDF."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.template.loader import render_to_string
from django.utils.formats import date_format

from garage.customers.models import Customer
from garage.mail.server import is_set_up
from garage.papers.setting import set_paper
from garage.people.queries import get_workshop
from jobs.job.models import Job
from jobs.rechecks.models import Channel, Reminder, ReminderText
from jobs.rechecks.queries import AHEAD, Recheck, rechecks
from jobs.rechecks.wording import TEXT_AT_FIRST, filled


@dataclass(frozen=True, slots=True)
class DueReminder:
    """A reminder that may go out: about which job, of which due day, what it says, and by which ways."""

    job: Job
    due_on: date
    text: str
    ways: tuple[Channel, ...]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A car that is due and whose customer is not reminded, and why."""

    job: Job
    why: str


def due_reminders(today: date) -> tuple[list[DueReminder], list[LeftOut]]:
    """The reminders that may go out, and the cars that get none.

    A car may be due twice, first by miles and then by date: of each day its customer is reminded once.
    """
    due, wording, reminders, left_out = rechecks(today), current_text().text, [], []
    mails_go_out = is_set_up()
    reminded = set(Reminder.objects.filter(job__in=[one.job for one in due]).values_list("job", "due_on"))
    for one in due:
        days = [day for day in sorted(_due_days(one)) if day <= today + AHEAD]
        open_days = [day for day in days if (one.job.pk, day) not in reminded]
        customer = one.job.vehicle.customer
        ways = _ways_to(customer, mails_go_out=mails_go_out)
        if customer.forgotten_at:
            continue
        if customer.no_reminders:
            left_out.append(LeftOut(one.job, "said no to reminders"))
        elif not open_days:
            left_out.append(LeftOut(one.job, "reminded already"))
        elif not ways:
            left_out.append(LeftOut(one.job, "no address, no email" if mails_go_out else "no address"))
        else:
            text = filled(wording, _values(one, open_days[0]))
            reminders.append(DueReminder(one.job, open_days[0], text, ways))
    return reminders, left_out


def _ways_to(customer: Customer, *, mails_go_out: bool) -> tuple[Channel, ...]:
    found = []
    if mails_go_out and customer.email:
        found.append(Channel.MAIL)
    if customer.address.strip():
        found.append(Channel.LETTER)
    return tuple(found)


def current_text() -> ReminderText:
    """The owner's text; one that is not stored, with the usual words, until the owner writes another."""
    return ReminderText.objects.first() or ReminderText(text=TEXT_AT_FIRST)


def _due_days(recheck: Recheck) -> set[date]:
    return {day for day in (recheck.by_miles, recheck.by_date) if day}


def _values(recheck: Recheck, due_on: date) -> dict[str, str]:
    car, workshop = recheck.job.vehicle, get_workshop()
    return {
        "customer": car.customer.name,
        "car": car.name,
        "registration": car.registration,
        "due": date_format(due_on, "j F Y"),
        "reason": recheck.reason_on(due_on),
        "workshop": workshop.name,
        "phone": workshop.phone,
    }


def set_letters(letters: Iterable[DueReminder | Reminder], at: datetime) -> bytes:
    """One PDF, a page or more for each letter; the same letters give the same bytes.

    A customer who was erased since has none.

    Raises
    ------
    timing.sheets.pdf.DocumentLibraryMissing
        If this machine cannot set documents.
    """
    kept = [letter for letter in letters if letter.job.vehicle.customer.forgotten_at is None]
    facts = {"letters": kept, "workshop": get_workshop(), "at": at}
    html = render_to_string("jobs/rechecks/sheets/letters.html", facts)
    return set_paper(html, css=["letters.css"], created=at)
