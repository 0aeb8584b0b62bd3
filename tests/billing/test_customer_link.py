"""A customer reads the bills of their own job on the link, and no other's."""

import uuid

from django.test import Client
from django.urls import reverse

from jobs.documents.actions import make_link
from tests.factories import JobFactory


def test_the_link_shows_the_bills_of_its_job_with_the_paper(job, billed, desk):
    bill, token = billed(job), make_link(job=job, idempotency_key=uuid.uuid4(), actor=desk)
    url = reverse("billing:customer-bill", args=[token, bill.pk])
    page = Client().get(reverse("documents:customer-page", args=[token])).content.decode()
    assert url in page
    assert bill.number in page
    answer = Client().get(url)
    assert answer.content == f"%PDF of {bill.number}".encode()
    assert answer["Referrer-Policy"] == "no-referrer"


def test_the_link_of_another_job_does_not(job, billed, desk):
    bill, token = billed(job), make_link(job=JobFactory(), idempotency_key=uuid.uuid4(), actor=desk)
    assert Client().get(reverse("billing:customer-bill", args=[token, bill.pk])).status_code == 404
    assert bill.number not in Client().get(reverse("documents:customer-page", args=[token])).content.decode()
