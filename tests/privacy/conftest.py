"""A customer with an invented name, and everything of theirs that a book comes to hold."""

import hashlib
import uuid
from decimal import Decimal

import pytest
from django.core.files.base import ContentFile

from garage.customers.actions import change_customer
from garage.record.actor import Actor
from jobs.costs.actions import enter_cost
from jobs.documents.actions import make_link
from jobs.job import journal
from jobs.models import IssuedDocument, Photograph
from tests.checklists.factories import enter, sheet_with
from tests.factories import CustomerFactory
from tests.jobs_factories import proven_version

NAME, PHONE, PLATE = "Quillon Abernethy", "01632 960777", "QAB 771 K"
PAPER, PICTURE = b"%PDF-1.7 for Quillon Abernethy", b"\xff\xd8 Quillon Abernethy at the wheel"


@pytest.fixture
def actor(owner) -> Actor:
    from django.utils import timezone

    from tests.factories import DeviceFactory

    return Actor(person=owner, at=timezone.now(), device=DeviceFactory())


@pytest.fixture
def job(actor):
    """Everything that names the person, in as many places as there are."""
    job = proven_version(actor, reason="As Quillon Abernethy likes it").job
    car = job.vehicle
    car.customer = CustomerFactory(name="Q Abernethy", phone="01632 960111")
    car.registration, car.chassis_number, car.notes = PLATE, "CH0042", "Mr Abernethy keeps the keys"
    car.save()
    change_customer(
        customer=car.customer, row_version=1, actor=actor,
        values={"name": NAME, "phone": PHONE, "email": "quillon@example.org",
                "address": "14 Tollgate Rise\nWestholm", "notes": "rings at six"},
    )  # fmt: skip
    job.refresh_from_db()
    job.wanted, job.complaint = "Abernethy wants it to start hot", f"call {PHONE}"
    job.save()
    entry = enter(sheet_with([{"key": "fuse"}], person=actor.person, job=job), "fuse", actor.person,
                  note="Quillon  Abernethy brought the fuse")  # fmt: skip
    Photograph.objects.create(
        id=uuid.uuid4(), by=actor.person, device=actor.device, made_at=actor.at, received_at=actor.at, entry=entry,
        file=ContentFile(PICTURE, "fuse.jpg"), thumbnail=ContentFile(PICTURE, "fuse-small.jpg"), width=4, height=3,
        sha256=hashlib.sha256(PICTURE).hexdigest(),
    )  # fmt: skip
    IssuedDocument.objects.create(
        job=job, kind="customer sheet", number=1, file=ContentFile(PAPER, "sheet.pdf"), issued_at=actor.at,
        sha256=hashlib.sha256(PAPER).hexdigest(), issued_by=actor.person,
        made_from={"car": {"customer": NAME, "registration": PLATE}, "map": {"number": 1, "base_deg": 8.0}},
    )  # fmt: skip
    journal.write(job, "noted", f"{NAME} rang about the choke", actor=actor, told={"to": NAME})
    enter_cost(
        job=job, id=uuid.uuid4(), kind="part", description="Cap for Abernethy", quantity=Decimal("1"),
        unit_price=Decimal("9.50"), actor=actor,
    )  # fmt: skip
    make_link(job=job, idempotency_key=uuid.uuid4(), actor=actor)
    return job


@pytest.fixture
def customer(job):
    return job.vehicle.customer
