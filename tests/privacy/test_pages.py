"""The owner's buttons: a copy of what is held, and the erasing with the password once more."""

import io
import json
import uuid
import zipfile

import pytest
from django.core.files.base import ContentFile
from django.urls import reverse

from garage.record.models import TrailEntry
from jobs.models import Erasure, RoadRun
from jobs.roadlogs.models import RoadLog
from tests.privacy.conftest import NAME, PAPER, PHONE, PICTURE

PASSWORD = "a long workshop password"


@pytest.fixture
def asked(browser_of, owner, customer):
    """`asked(password=…)`: the owner's form, sent."""

    def sent(**typed):
        form = {"reason": "asked by letter", "password": PASSWORD, "idempotency_key": uuid.uuid4()}
        return browser_of(owner).post(reverse("privacy:forget", args=[customer.pk]), form | typed)

    return sent


def test_the_copy_holds_everything_about_the_person(browser_of, owner, customer):
    answer = browser_of(owner).post(reverse("privacy:copy", args=[customer.pk]))
    with zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content))) as archive:
        held = json.loads(archive.read("what-is-held.json"))
        sheet = archive.read("what-is-held.html").decode()
        files = {archive.read(name) for name in archive.namelist() if name.startswith("files/")}
    assert (held["person"]["name"], held["person"]["phone"]) == (NAME, PHONE)
    assert {PAPER, PICTURE} == files
    assert any("rang about the choke" in str(text["says"]) for text in held["texts"])
    assert len(held["links"]) == len(held["jobs"]) == len(held["cars"]) == 1
    for word in (NAME, PHONE, "rings at six", "14 Tollgate Rise"):
        assert word in sheet
    assert TrailEntry.objects.filter(event="customer-copy-made", subject_id=customer.pk, by=owner).exists()


def test_the_copy_has_nothing_of_another_customer(browser_of, owner, customer, actor):
    from tests.factories import JobFactory

    JobFactory(vehicle__customer__name="Somebody Else", wanted="another matter")
    answer = browser_of(owner).post(reverse("privacy:copy", args=[customer.pk]))
    with zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content))) as archive:
        assert b"Somebody Else" not in archive.read("what-is-held.json")


def test_the_copy_brings_the_log_of_a_drive_and_names_mail_and_reminders(browser_of, owner, job, customer, actor):
    version = job.map_versions.last()
    run = RoadRun.objects.create(job=job, map_version=version, route="Quarry hill", driver=owner, begun_at=actor.at)
    log = b"a logger's file, packed"
    RoadLog.objects.create(
        run=run, file=ContentFile(log, "hill.csv.gz"), file_name="hill.csv", sha256="0" * 64, size=99,
        uploaded_at=actor.at, uploaded_by=actor.person,
    )  # fmt: skip
    answer = browser_of(owner).post(reverse("privacy:copy", args=[customer.pk]))
    with zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content))) as archive:
        (held,) = json.loads(archive.read("what-is-held.json"))["logs"]
        sheet = archive.read("what-is-held.html").decode()
        assert archive.read(held["file"]) == log
    assert (held["job"], held["name"]) == (job.code, "hill.csv")
    for words in ("<h2>Logs of drives</h2>", "name: hill.csv", "<h2>Mail to you</h2>", "<h2>Reminders</h2>"):
        assert words in sheet


def test_the_page_shows_what_goes_and_what_is_kept(browser_of, owner, customer):
    page = browser_of(owner).get(reverse("privacy:forget", args=[customer.pk])).content.decode()
    for words in ("This cannot be undone", "rang about the choke", "Hours and parts of job", "31 December"):
        assert words in page


def test_with_the_password_and_a_reason_the_customer_is_erased(asked, customer):
    assert asked().url == reverse("privacy:erasures")
    customer.refresh_from_db()
    assert customer.name == f"Erased customer {customer.pk}"


@pytest.mark.parametrize("wrong", [{"password": "not this one"}, {"password": ""}, {"reason": ""}])
def test_without_either_nothing_is_erased(asked, customer, wrong):
    assert asked(**wrong).status_code == 422
    assert not Erasure.objects.exists()


def test_a_photograph_of_somebody_else_cannot_be_chosen(asked):
    assert asked(photographs=[str(uuid.uuid4())]).status_code == 422


def test_an_erased_customer_is_in_no_list_and_cannot_be_edited(asked, customer, browser_of, owner):
    asked()
    client = browser_of(owner)
    assert f"/customers/{customer.pk}/" not in client.get(reverse("customers:list")).content.decode()
    assert client.get(reverse("customers:edit", args=[customer.pk])).status_code == 404
    page = client.get(reverse("customers:detail", args=[customer.pk])).content.decode()
    assert "without a person" in page
    assert "asked by letter" in client.get(reverse("privacy:erasures")).content.decode()


def test_the_pages_of_the_job_open_without_its_paper_and_person(asked, job, browser_of, owner):
    asked()
    client = browser_of(owner)
    assert "erased" in client.get(reverse("handover:page", args=[job.code])).content.decode()
    for name in ("board:job", "board:journal", "costs:page", "fitting:page", "maps:page"):
        assert client.get(reverse(name, args=[job.code])).status_code == 200
    answer = client.get(reverse("documents:document", args=[job.code, job.documents.get().pk]), follow=True)
    assert "was erased with its customer" in answer.content.decode()


def test_what_names_the_customer_is_shown_as_sentences_and_not_as_a_record(browser_of, owner, customer):
    page = browser_of(owner).get(reverse("privacy:forget", args=[customer.pk])).content.decode()
    shown = page[page.index("Entries that name the customer") :].split("</details>")[0]
    assert customer.name in shown
    assert "{" not in shown
