"""A customer is forgotten; their bills are kept as the law wants it, and go on their day."""

import json
import uuid
import zipfile
from datetime import date
from io import BytesIO

from django.core.files.storage import default_storage
from django.utils import timezone

from garage.models import Workshop
from garage.record.actor import Actor
from jobs.billing.models import Bill
from jobs.billing.queries import account_of
from jobs.privacy.actions import erase_what_is_due, forget
from jobs.privacy.copy import write_copy


def forgotten(job, owner, at=None):
    return forget(
        customer=job.vehicle.customer,
        reason="asked for it",
        photographs=[],
        plates=True,
        words=[],
        idempotency_key=uuid.uuid4(),
        actor=Actor(person=owner, at=at or timezone.now()),
    )


def test_a_bill_keeps_its_customer_until_its_day_and_its_sums_for_ever(
    job, billed, owner, django_capture_on_commit_callbacks
):
    Workshop.objects.update(keep_bills_years=6)
    bill = billed(job)
    name, actor = bill.file.name, Actor(person=owner, at=timezone.now())
    forgotten(job, owner)
    kept = Bill.objects.get()
    assert (kept.buyer_name, kept.file.name) == ("Mira Holt", name)
    with django_capture_on_commit_callbacks(execute=True):
        erase_what_is_due(today=date(bill.issued_on.year + 7, 1, 1), actor=actor)
    kept.refresh_from_db()
    assert (kept.buyer_name, kept.made_from, bool(kept.file)) == ("[erased]", "[erased]", False)
    assert (kept.number, kept.gross) == (bill.number, bill.gross)
    assert {line.description for line in kept.lines.all()} == {"[erased]"}
    assert account_of(kept).due == bill.gross
    assert not default_storage.exists(name)


def test_a_bill_whose_day_has_passed_goes_with_its_customer_at_once(
    job, billed, owner, desk, django_capture_on_commit_callbacks
):
    Workshop.objects.update(keep_bills_years=1)
    bill = billed(job)
    later = timezone.now().replace(year=bill.issued_on.year + 3, month=2, day=1)
    with django_capture_on_commit_callbacks(execute=True):
        forgotten(job, owner, at=later)
    gone = Bill.objects.get()
    assert "Mira Holt" not in json.dumps([gone.buyer_name, gone.buyer_address, gone.made_from])
    assert not gone.file
    assert not default_storage.exists(bill.file.name)


def test_a_customer_s_copy_has_their_bills(job, billed):
    bill, copy = billed(job), BytesIO()
    write_copy(job.vehicle.customer, copy)
    with zipfile.ZipFile(copy) as archive:
        held = json.loads(archive.read("what-is-held.json"))
        assert [one["number"] for one in held["bills"]] == [bill.number]
        assert archive.read(held["bills"][0]["file"]) == f"%PDF of {bill.number}".encode()
