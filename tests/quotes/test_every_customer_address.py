"""Whatever a customer's link opens: nothing of another job, and nothing once the link ended.

A new address behind a link has to be named here, or the first test fails.
"""

import hashlib
import uuid
from datetime import timedelta

import pytest
from django.core.files.base import ContentFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from jobs.documents.actions import make_link, revoke_links
from jobs.documents.models import CustomerLink, DocumentKind, IssuedDocument
from tests.factories import JobFactory
from tests.people.test_signing_in import every_address
from tests.quotes.test_photographs import supplement  # noqa: F401 - a fixture

FEED = "week:feed"  # a calendar's address, which ends otherwise


@pytest.fixture
def behind_the_link(job, supplement, billed, entered, desk, link):  # noqa: F811
    """What each address needs besides the token: a supplement with a photograph, a bill and a label of `job`."""
    quote = supplement([1])
    entered(job, "part", "Rotor arm", "1", "12.40")
    label = b"%PDF of a label"
    document = IssuedDocument.objects.create(
        job=job, kind=DocumentKind.LABEL, number=1, file=ContentFile(label, name="label.pdf"),
        sha256=hashlib.sha256(label).hexdigest(), made_from={}, issued_at=desk.at, issued_by=desk.person,
    )  # fmt: skip
    return {
        "documents:customer-page": {},
        "documents:customer-document": {"pk": document.pk},
        "quotes:customer-quote": {"pk": quote.pk},
        "quotes:customer-paper": {"pk": quote.pk},
        "quotes:customer-photograph": {"pk": quote.pk, "number": 1},
        "quotes:customer-photograph-small": {"pk": quote.pk, "number": 1},
        "billing:customer-bill": {"pk": billed(job).pk},
    }


def answers(token, behind):
    """What each address answers to `token`, and each that takes an entry to one."""
    client, found = Client(), {}
    for name, more in behind.items():
        address = reverse(name, kwargs={"token": token, **more})
        found[name] = client.get(address)
        found[f"{name}, sent"] = client.post(address, {"idempotency_key": uuid.uuid4(), "answer": "accepted"})
    return found


def test_every_address_with_a_token_opens_for_it_and_is_kept_by_nobody(behind_the_link, link):
    named = {name for name, converters in every_address() if "token" in converters}
    assert named == {*behind_the_link, FEED}
    for name, answer in answers(link, behind_the_link).items():
        assert answer.status_code in ((405, 422) if name.endswith("sent") else (200,)), name
        if answer.status_code != 405:
            assert "no-store" in answer["Cache-Control"], name
            assert answer["Referrer-Policy"] in ("no-referrer", "same-origin"), name
            assert "noindex" in answer["X-Robots-Tag"], name


@pytest.mark.parametrize("ended", ["cancelled", "out of date", "of another job"])
def test_none_opens_once_the_link_ended_or_for_another_job(behind_the_link, link, job, desk, ended):
    token = link
    if ended == "cancelled":
        revoke_links(job=job, actor=desk)
    elif ended == "out of date":
        CustomerLink.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    else:
        token = make_link(job=JobFactory(), idempotency_key=uuid.uuid4(), actor=desk)
        del behind_the_link["documents:customer-page"]  # the other job has one of its own
    for name, answer in answers(token, behind_the_link).items():
        assert answer.status_code in ((404, 405) if name.endswith("sent") else (404,)), name
