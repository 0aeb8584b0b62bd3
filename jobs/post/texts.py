"""The texts with which mails begin: the owner's, or ours until there are any."""

from dataclasses import dataclass

from garage.people.queries import get_workshop
from jobs.job.models import Job
from jobs.post.models import MailKind, MailText


@dataclass(frozen=True, slots=True)
class FirstText:
    """A text before the owner has written another, and what may stand in braces in it, each with a sample."""

    subject_line: str
    text: str
    blanks: dict[str, str]


OF_EVERY_MAIL = {
    "customer": "Mira Holt",
    "car": "Alder 1500 saloon",
    "registration": "KLM 204 B",
    "workshop": "Lockgate Motor Works",
    "phone": "01632 960142",
}
# Reminders have a text of their own, which letters share (`jobs/rechecks/wording.py`).
FIRST_TEXTS: dict[MailKind, FirstText] = {
    MailKind.PAPERS: FirstText(
        "Papers of {registration}",
        "Dear {customer},\n\nThe papers of your {car}, {registration}, are attached as PDF.\n"
        "Keep them with the car.\n\n{workshop}\n{phone}",
        OF_EVERY_MAIL,
    ),
    MailKind.QUOTE: FirstText(
        "{quote} for {registration}",
        "Dear {customer},\n\nOur {quote} for your {car}, {registration}, is attached as PDF. "
        "It comes to {total} and is valid until {valid_until}.\n\n"
        "Tell us whether we may begin.\n\n{workshop}\n{phone}",
        OF_EVERY_MAIL | {"quote": "quote Q-2027-0012", "total": "612.00 GBP", "valid_until": "14 May 2027"},
    ),
    MailKind.BILL: FirstText(
        "{bill} for {registration}",
        "Dear {customer},\n\nOur {bill} for your {car}, {registration}, is attached as PDF. "
        "It comes to {total}.\n\n{workshop}\n{phone}",
        OF_EVERY_MAIL | {"bill": "bill 2027-0012", "total": "612.00 GBP"},
    ),
}


def current_text(kind: MailKind) -> MailText:
    """The owner's text for mails of `kind`; one that is not stored, with our words, until there is one."""
    first = FIRST_TEXTS[kind]
    kept = MailText.objects.filter(kind=kind).first()
    return kept or MailText(kind=kind, subject_line=first.subject_line, text=first.text)


def values_of(job: Job) -> dict[str, str]:
    """What stands for the blanks of every mail about `job`."""
    car, workshop = job.vehicle, get_workshop()
    return {
        "customer": car.customer.name,
        "car": car.name,
        "registration": car.registration,
        "workshop": workshop.name,
        "phone": workshop.phone,
    }
