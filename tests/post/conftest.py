"""A job with issued papers, and a mail server in the test's own process."""

import hashlib
import uuid

import pytest
from django.core.files.base import ContentFile

from jobs.documents.send_views import paper_of
from jobs.models import IssuedDocument
from jobs.post.actions import put_in_mail
from jobs.post.models import MailKind
from tests.factories import CustomerFactory, JobFactory, VehicleFactory
from tests.mail.post_office import open_post_office, set_up_mail

SHEET = b"%PDF-1.7 customer's sheet \x00\xff\r\n."


@pytest.fixture
def job(db):
    customer = CustomerFactory(name="Mira Holt", email="mira@holt.example")
    return JobFactory(stage="handover", vehicle=VehicleFactory(registration="KLM 204 B", customer=customer))


@pytest.fixture
def issued(job, actor):
    """`issued("restore sheet")`: a paper of the job, as it went out."""

    def issue(kind="customer sheet", content=SHEET):
        number = job.documents.filter(kind=kind).count() + 1
        return IssuedDocument.objects.create(
            job=job, kind=kind, number=number, file=ContentFile(content, f"{kind}-{number}.pdf"),
            sha256=hashlib.sha256(content).hexdigest(), made_from={"map": None}, issued_at=actor.at,
            issued_by=actor.person,
        )  # fmt: skip

    return issue


@pytest.fixture
def office():
    with open_post_office() as opened:
        yield opened


@pytest.fixture
def put_in(job, issued, actor, office):
    """`put_in()`: a mail with the customer's sheet, through the test's own server."""
    set_up_mail(office.port)

    def put(**more):
        values = {
            "job": job, "kind": MailKind.PAPERS, "subject": job, "what": "customer's sheet no. 1",
            "address": "mira@holt.example", "subject_line": "Papers of KLM 204 B", "text": "Dear Mira,\n\nsee below.",
            "papers": [paper_of(issued())], "idempotency_key": uuid.uuid4(), "actor": actor,
        }  # fmt: skip
        return put_in_mail(**values | more)

    return put
