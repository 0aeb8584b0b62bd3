"""A small book with something in every corner: a map, a sheet, a photograph, a paper, a link, a line of costs."""

import hashlib
import uuid
from decimal import Decimal

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import transaction
from django.utils import timezone

from garage.export.archive import write_book
from garage.people import actions as people
from jobs.costs.actions import enter_cost
from jobs.documents.actions import make_link
from jobs.models import IssuedDocument, Job, Photograph
from tests.checklists.factories import enter, sheet_with
from tests.jobs_factories import proven_version

PAPER, PICTURE = b"%PDF-1.7 a paper of Mira Holt", b"\xff\xd8 a picture"


@pytest.fixture
def book_in_use(actor, owner) -> Job:
    """What the tests export: a customer with a formula for a name's beginning and letters of three scripts."""
    job = proven_version(actor).job
    customer = job.vehicle.customer
    customer.name, customer.notes = "=Mira Hølt 三", 'rings "after six",\nnever before'
    customer.save()
    people.set_pin(person=owner, pin="4711", actor=actor)
    sheet = sheet_with([{"key": "fuse"}], person=actor.person, job=job)
    entry = enter(sheet, "fuse", actor.person)
    Photograph.objects.create(
        id=uuid.uuid4(), by=actor.person, device=actor.device, made_at=actor.at, received_at=actor.at, entry=entry,
        file=ContentFile(PICTURE, "fuse.jpg"), thumbnail=ContentFile(PICTURE, "fuse-small.jpg"), width=4, height=3,
        sha256=hashlib.sha256(PICTURE).hexdigest(),
    )  # fmt: skip
    IssuedDocument.objects.create(
        job=job, kind="label", number=1, file=ContentFile(PAPER, "label.pdf"), issued_at=actor.at,
        sha256=hashlib.sha256(PAPER).hexdigest(), made_from={"car": {"customer": customer.name}, "map": None},
        issued_by=actor.person,
    )  # fmt: skip
    enter_cost(
        job=job, id=uuid.uuid4(), kind="part", description="Cap", quantity=Decimal("1"), unit_price=Decimal("9.50"),
        actor=actor,
    )  # fmt: skip
    job.token_of_test = make_link(job=job, idempotency_key=uuid.uuid4(), actor=actor)
    return job


@pytest.fixture
def emptied():
    """`emptied(make)`: what `make` gives, made in a book that is gone again afterwards, its files too."""

    def gone_again(make):
        before = transaction.savepoint()
        made = make()
        transaction.savepoint_rollback(before)
        for folder in ("documents", "photographs"):
            for name in default_storage.listdir(folder)[1] if default_storage.exists(folder) else []:
                default_storage.delete(f"{folder}/{name}")
        return made

    return gone_again


@pytest.fixture
def exported(tmp_path):
    """`exported()`: an archive of the book as it is."""
    folder = tmp_path / "out"
    folder.mkdir()
    return lambda: write_book(folder, at=timezone.now())
