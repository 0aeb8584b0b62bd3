"""The demo's rates of VAT, and a bill that is paid in part."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

from django.utils import timezone

from garage.people.actions import change_workshop
from garage.people.models import Workshop
from jobs.billing.actions import issue_bill
from jobs.billing.models import PaidBy
from jobs.billing.payment_actions import enter_payment
from jobs.billing.queries import to_bill
from jobs.demo.diary import Shift
from jobs.job.models import Job
from jobs.vat.actions import add_rate
from jobs.vat.models import VatCategory


def bill_the_car(job: Job, owner: Shift, desk: Shift) -> None:
    """The owner sets the bills up; the desk bills everything on the job, and a first payment comes in."""
    signed = owner.sign()
    standard = add_rate(
        name="Standard",
        percent=Decimal(20),
        wording="",
        category=VatCategory.STANDARD,
        idempotency_key=uuid4(),
        actor=signed,
    )
    add_rate(
        name="No VAT",
        percent=Decimal(0),
        wording="Outside the scope of VAT.",
        category=VatCategory.EXEMPT,
        idempotency_key=uuid4(),
        actor=signed,
    )
    workshop = Workshop.objects.get()
    change_workshop(
        workshop=workshop,
        row_version=workshop.row_version,
        values={
            "vat_number": "GB 000 0000 00",
            "country": "GB",
            "bill_foot": "Account 0042 118 at the Nether Hatch bank.",
        },
        actor=signed,
    )
    signed = desk.sign()
    day = timezone.localdate(signed.at)
    bill = issue_bill(
        job=job,
        rates={line.pk: standard for line in to_bill(job)},
        supplied_on=day,
        due_on=day + timedelta(days=14),
        remarks="",
        buyer_country="GB",
        idempotency_key=uuid4(),
        actor=signed,
    )
    enter_payment(
        bill=bill,
        id=uuid4(),
        amount=Decimal("500.00"),
        refund=False,
        paid_on=day,
        paid_by=PaidBy.CARD,
        note="",
        actor=desk.sign(),
    )
