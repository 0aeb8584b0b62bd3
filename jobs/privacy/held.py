"""What is held about a customer, as plain data: for the person who asks, and for the owner before an erasing."""

from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from garage.customers.models import Customer
from garage.record.models import TrailEntry, kind_of
from garage.record.plain import Plain, as_plain
from garage.vehicles.models import Vehicle
from jobs.billing.models import Bill
from jobs.billing.queries import payments
from jobs.booking.models import BookingPhotograph
from jobs.checklists.models import KeptPhotograph, Photograph
from jobs.documents.models import CustomerLink, IssuedDocument
from jobs.job.models import Job
from jobs.post.models import Mail
from jobs.privacy.mentions import Mention, mentions, names_of
from jobs.quotes.models import Quote
from jobs.rechecks.models import Reminder
from jobs.roadlogs.models import RoadLog


def jobs_of(customer: Customer) -> list[Job]:
    return list(Job.objects.filter(vehicle__customer=customer).select_related("vehicle").order_by("code"))


@dataclass(frozen=True, slots=True)
class HeldPhotograph:
    """A photograph of the customer's car, what it is of, and where it is shown."""

    row: KeptPhotograph
    code: str  # of the job
    of: str
    page: str
    small: str


def photographs_of(customer: Customer) -> list[HeldPhotograph]:
    """Those that are still there, oldest first."""
    of_sheets = Photograph.objects.filter(entry__sheet__job__vehicle__customer=customer).exclude(file="")
    at_booking = BookingPhotograph.objects.filter(job__vehicle__customer=customer).exclude(file="")
    found = [
        HeldPhotograph(
            one, one.entry.sheet.job.code, one.entry.item.text,
            reverse("checklists:photograph", args=[one.pk]), reverse("checklists:photograph-small", args=[one.pk]),
        )
        for one in of_sheets.select_related("entry__sheet__job", "entry__item")
    ] + [
        HeldPhotograph(
            one, one.job.code, "At booking",
            reverse("booking:photograph", args=[one.pk]), reverse("booking:photograph-small", args=[one.pk]),
        )
        for one in at_booking.select_related("job")
    ]  # fmt: skip
    return sorted(found, key=lambda one: (one.row.received_at, str(one.row.pk)))


def papers_of(customer: Customer) -> list[IssuedDocument]:
    found = IssuedDocument.objects.filter(job__vehicle__customer=customer).exclude(file="")
    return list(found.select_related("job").order_by("issued_at", "pk"))


def bills_of(customer: Customer) -> list[Bill]:
    """Bills and credit notes whose papers are still there, in the order of their numbers."""
    found = Bill.objects.filter(job__vehicle__customer=customer).exclude(file="")
    return list(found.select_related("job").order_by("series", "serial"))


def quotes_of(customer: Customer) -> list[Quote]:
    """Every version of the quotes whose papers are still there, the oldest first."""
    found = Quote.objects.filter(job__vehicle__customer=customer).exclude(file="")
    return list(found.select_related("job", "answer").order_by("issued_at", "pk"))


def mails_of(customer: Customer) -> list[Mail]:
    """Mail to the customer, the oldest first."""
    found = Mail.objects.filter(job__vehicle__customer=customer).select_related("job")
    return list(found.prefetch_related("steps", "attachments").order_by("put_in_at", "pk"))


def logs_of(customer: Customer) -> list[RoadLog]:
    """Logs of drives whose files are still there, the oldest first."""
    found = RoadLog.objects.filter(run__job__vehicle__customer=customer).exclude(file="")
    return list(found.select_related("run__job").order_by("uploaded_at", "pk"))


def texts_of(customer: Customer) -> list[Mention]:
    """Every text of the book that names the person."""
    plates = [text for car in customer.vehicles.all() for text in (car.registration, car.chassis_number)]
    return list(mentions(names_of(customer, plates=plates), customer))


def held_about(customer: Customer) -> Plain:
    """Everything that the workshop holds about `customer`, by kind, as JSON values."""
    about = TrailEntry.objects.filter(subject_kind=kind_of(customer), subject_id=customer.pk)
    links = CustomerLink.objects.filter(job__vehicle__customer=customer).select_related("job").order_by("made_at")
    facts = {
        "person": _columns(
            customer, ["name", "phone", "email", "address", "country", "notes", "no_reminders", "made_at"]
        ),
        "cars": [_of_car(car) for car in customer.vehicles.all()],
        "jobs": [
            _columns(job, ["code", "kind", "wanted", "complaint", "booked_for", "odometer", "odometer_unit", "stage",
                           "state", "state_reason", "made_at"]) | {"car": str(job.vehicle)}
            for job in jobs_of(customer)
        ],
        "papers": [
            {"job": paper.job.code, "kind": paper.kind, "number": paper.number, "issued_at": paper.issued_at,
             "file": f"files/{paper.file.name}", "sha256": paper.sha256}
            for paper in papers_of(customer)
        ],
        "bills": [_of_bill(bill) for bill in bills_of(customer)],
        "quotes": [_of_quote(quote) for quote in quotes_of(customer)],
        "payments": [row for bill in bills_of(customer) for row in _payments_of(bill)],
        "photographs": [
            {"job": one.code, "of": one.of, "taken_at": one.row.made_at, "file": f"files/{one.row.file.name}"}
            for one in photographs_of(customer)
        ],
        "logs": [
            {"job": log.run.job.code, "name": log.file_name, "uploaded_at": log.uploaded_at,
             "file": f"files/{log.file.name}", "sha256_unpacked": log.sha256}
            for log in logs_of(customer)
        ],
        "links": [
            {"job": link.job.code, "made_at": link.made_at, "expires_at": link.expires_at,
             "withdrawn_at": link.revoked_at, "first_opened_at": link.first_opened_at}
            for link in links
        ],
        "mails": [_of_mail(mail) for mail in mails_of(customer)],
        "reminders": [
            {"job": one.job.code, "due_on": one.due_on, "by": one.channel, "at": one.batch.made_at, "text": one.text}
            for one in Reminder.objects.filter(job__vehicle__customer=customer).select_related("job", "batch")
        ],
        "changes": [{"at": entry.at, "by": str(entry.by), "what": entry.text} for entry in about.select_related("by")],
        "texts": [
            {"in": mention.model._meta.verbose_name, "says": says} for mention in texts_of(customer)
            for says in mention.says
        ],
        "not_held": [
            "Who opened a customer's link, from where and how often: the book keeps the first time alone.",
            "A date of birth, or the number of a card or bank account.",
        ],
    }  # fmt: skip
    return as_plain(facts)


def _of_bill(bill: Bill) -> Plain:
    return {
        "job": bill.job.code, "kind": bill.kind, "number": bill.number, "issued_on": bill.issued_on,
        "total": bill.gross, "currency": bill.currency, "file": f"files/{bill.file.name}", "sha256": bill.sha256,
    }  # fmt: skip


def _of_quote(quote: Quote) -> Plain:
    answer = getattr(quote, "answer", None)
    return {
        "job": quote.job.code, "kind": quote.kind, "number": quote.name, "issued_on": quote.issued_on,
        "total": quote.gross, "currency": quote.currency, "file": f"files/{quote.file.name}", "sha256": quote.sha256,
        "answer": _columns(answer, ["kind", "way", "name", "words", "answered_on"]) if answer else None,
    }  # fmt: skip


def _of_mail(mail: Mail) -> Plain:
    return _columns(mail, ["kind", "what", "address", "subject_line", "text", "put_in_at"]) | {
        "job": mail.job.code,
        "attached": [one.file_name for one in mail.attachments.all()],
        "tries": [_columns(step, ["made_at", "kind", "sentence", "answer"]) for step in mail.steps.all()],
    }


def _payments_of(bill: Bill) -> list[Plain]:
    return [
        {"bill": bill.number, **_columns(one, ["paid_on", "paid_by", "amount", "refund", "note"])}
        for one in payments(bill)
    ]


def _of_car(car: Vehicle) -> Plain:
    return _columns(car, ["registration", "chassis_number", "maker", "model", "year", "notes", "made_at"]) | {
        "engine_number": car.engine.number
    }


def _columns(thing: Any, names: list[str]) -> Plain:
    return {name: getattr(thing, name) for name in names}
