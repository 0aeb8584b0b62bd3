"""The car leaves with its papers, looked at by a second person."""

import re
import uuid
from dataclasses import replace
from datetime import date, timedelta
from io import BytesIO

import pypdf
import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from jobs.documents import actions as document_actions
from jobs.documents import queries as documents
from jobs.documents.coming_back import come_back, months_later
from jobs.documents.models import CustomerLink, DocumentKind, IssuedDocument
from jobs.documents.setting import set_document
from jobs.handover import actions, queries
from jobs.handover.models import SignOff
from jobs.job.actions import go_on
from jobs.job.models import Stage
from tests.jobs_factories import MapVersionFactory, proven_version


def issue(job, actor, kind=DocumentKind.CUSTOMER_SHEET, idempotency_key=None):
    return actions.issue_document(job=job, kind=kind, idempotency_key=idempotency_key or uuid.uuid4(), actor=now(actor))


def now(actor):
    """The same person, at this moment: what happens later in a test happens later in the book."""
    return replace(actor, at=timezone.now())


def text_of(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(pdf)).pages)


def test_who_read_the_strobe_does_not_sign_as_the_second_person(job, checked, actor):
    with pytest.raises(actions.HandoverRuleError, match="Someone else"):
        actions.sign_off(job=job, id=uuid.uuid4(), remarks="", actor=actor)
    assert not SignOff.objects.exists()


def test_a_second_person_signs_for_the_version_in_the_car(job, signed_off, version):
    assert queries.current_sign_off(job) == signed_off
    assert signed_off.map_version_id == version.pk


def test_nobody_signs_while_no_version_is_in_the_car(actor):
    job = MapVersionFactory().job
    with pytest.raises(actions.HandoverRuleError, match="Read it back"):
        actions.sign_off(job=job, id=uuid.uuid4(), remarks="", actor=actor)


def test_a_signature_counts_no_more_once_another_version_is_in_the_car(job, signed_off, actor, version):
    proven_version(now(actor), job=job, number=2, parent=version, unit_revision=version.unit_revision, base_deg=10.0)
    assert queries.current_sign_off(job) is None


def test_signing_twice_is_one_signature(job, checked, second_actor):
    id = uuid.uuid4()
    for _ in range(2):
        actions.sign_off(job=job, id=id, remarks="", actor=second_actor)
    assert SignOff.objects.count() == 1


def test_signing_without_having_looked_is_refused(browser_of, second_mechanic, job, checked):
    answer = browser_of(second_mechanic).post(
        reverse("handover:sign-off", args=[job.code]), {"id": uuid.uuid4(), "remarks": "looks fine from here"}
    )
    assert answer.status_code == 422
    assert "looks fine from here" in answer.content.decode()


def test_the_gate_opens_step_by_step(job, checked, actor, second_actor):
    assert "the second check" in queries.progress(job).missing
    actions.sign_off(job=job, id=uuid.uuid4(), remarks="", actor=second_actor)
    assert queries.progress(job).missing == ["the customer's sheet, issued after the second check"]
    issue(job, actor)
    assert queries.progress(job).missing == []


def test_the_customer_s_sheet_waits_for_the_second_person(job, checked, actor):
    with pytest.raises(actions.HandoverRuleError, match="is missing"):
        issue(job, actor)


def test_the_customer_s_sheet_says_what_was_set_in_which_car_and_who_looked(job, signed_off, actor, version):
    text = text_of(documents.stored_bytes(issue(job, actor)))
    for words in ("KLM 204 B", "8° BTDC", "Tam Okoro", "Ines Marlow", job.code, version.content_hash[:20], "800 km"):
        assert words in text


def test_every_entry_to_key_in_again_stands_on_the_sheet(job, signed_off, actor):
    document = issue(job, actor)
    text = text_of(documents.stored_bytes(document))
    lines = document.made_from["map"]["lines"]
    assert len(lines) > 8
    for line in lines:
        assert line["words"] in text
        assert line["value"] in text


@pytest.mark.parametrize("kind", list(DocumentKind))
def test_every_document_can_be_set_and_is_tagged_for_readers(job, signed_off, actor, kind):
    reader = pypdf.PdfReader(BytesIO(documents.stored_bytes(issue(job, actor, kind))))
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert reader.trailer["/Root"]["/Lang"] == "en-GB"
    assert "KLM 204 B" in reader.pages[0].extract_text()


def test_the_data_kept_with_a_document_makes_the_same_document_again(job, signed_off, actor):
    document = issue(job, actor)
    document.refresh_from_db()
    assert set_document(DocumentKind.CUSTOMER_SHEET, document.made_from) == documents.stored_bytes(document)


def test_a_double_tap_issues_one_document(job, signed_off, actor):
    idempotency_key = uuid.uuid4()
    assert issue(job, actor, idempotency_key=idempotency_key) == issue(job, actor, idempotency_key=idempotency_key)
    assert IssuedDocument.objects.count() == 1


def test_a_document_that_was_changed_on_disk_is_not_shown(browser_of, mechanic, job, signed_off, actor):
    document = issue(job, actor)
    with document.file.open("wb") as file:
        file.write(b"%PDF-1.7 something else")
    with pytest.raises(documents.DocumentDamagedError, match="changed after issue"):
        documents.stored_bytes(document)
    answer = browser_of(mechanic).get(reverse("documents:document", args=[job.code, document.pk]), follow=True)
    assert "was changed after issue" in answer.content.decode()


def test_an_issued_document_cannot_be_rewritten_in_the_book(job, signed_off, actor):
    document = issue(job, actor)
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        IssuedDocument.objects.filter(pk=document.pk).update(sha256="0" * 64)


@pytest.fixture
def handed_over(job, signed_off, actor):
    issue(job, actor)
    go_on(job=job, leaving=Stage(job.stage), actor=actor)
    return job


def open_link(client, job, **kwargs):
    token = document_actions.make_link(job=job, idempotency_key=uuid.uuid4(), **kwargs)
    return f"/papers/{token}/"  # written out: this address was sent to people


def test_the_customer_reads_their_papers_without_an_account(client, handed_over, actor):
    url = open_link(client, handed_over, actor=actor)
    page = client.get(url).content.decode()
    assert "KLM 204 B" in page
    document = handed_over.documents.get()
    answer = client.get(f"{url}{document.pk}/")
    assert answer["Content-Type"] == "application/pdf"
    assert "KLM 204 B" in text_of(answer.content)


def test_the_customer_reads_what_was_set_when_to_come_back_and_a_number_to_tap(client, workshop, handed_over, actor):
    workshop.phone = "+44 (0)1632 960142"
    workshop.save()
    page = client.get(open_link(client, handed_over, actor=actor)).text
    shown = " ".join(re.sub(r"<[^>]+>", " ", page).split())
    version = handed_over.map_versions.get()
    assert f"Base timing {version.base_deg:g}° BTDC" in shown
    assert f"Map version {version.number} read back from the unit" in shown
    assert "When to come back After the first" in shown
    assert 'href="tel:+441632960142"' in page
    assert page.index("What was set") < page.index("When to come back") < page.index(">Papers<")


def test_the_customer_s_link_shows_nothing_else_of_the_workshop(client, handed_over, actor):
    issue(handed_over, actor, DocumentKind.BENCH_RECORD)
    bench_record = handed_over.documents.get(kind=DocumentKind.BENCH_RECORD)
    url = open_link(client, handed_over, actor=actor)
    assert client.get(f"{url}{bench_record.pk}/").status_code == 404
    assert "Board" not in client.get(url).content.decode()
    assert client.get(f"/jobs/{handed_over.code}/").status_code == 302


@pytest.mark.parametrize("token", ["x", "a" * 32, "%00"])
def test_a_made_up_link_is_a_quiet_404(client, workshop, token):
    assert client.get(f"/papers/{token}/").status_code == 404


def test_a_link_ends_when_it_is_shut_or_out_of_date(client, handed_over, actor):
    url = open_link(client, handed_over, actor=actor)
    CustomerLink.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    assert client.get(url).status_code == 404
    url = open_link(client, handed_over, actor=actor)
    document_actions.revoke_links(job=handed_over, actor=actor)
    assert client.get(url).status_code == 404


def test_the_book_keeps_only_the_hash_of_a_link(handed_over, actor):
    token = document_actions.make_link(job=handed_over, idempotency_key=uuid.uuid4(), actor=actor)
    assert token not in str(list(CustomerLink.objects.values()))


def test_a_link_is_shown_once(browser_of, front_desk, handed_over):
    client = browser_of(front_desk)
    form = {"idempotency_key": uuid.uuid4()}
    page = client.post(reverse("documents:make-link", args=[handed_over.code]), form, follow=True).content.decode()
    assert "/papers/" in page
    assert "/papers/" not in client.get(reverse("handover:page", args=[handed_over.code])).content.decode()


@pytest.mark.parametrize(
    ("day", "months", "expected"),
    [
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2026, 11, 25), 12, date(2027, 11, 25)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2026, 12, 31), 2, date(2027, 2, 28)),
    ],
)
def test_months_are_counted_as_people_count_them(day, months, expected):
    assert months_later(day, months) == expected  # by the calendar, by hand


def test_a_car_handed_over_says_when_it_is_due(handed_over):
    due = come_back(handed_over)
    assert due.first_km == 800
    assert due.by == months_later(timezone.localdate(), 12)
    assert not due.is_due


def test_what_was_let_through_stands_on_the_customer_s_sheet(job, signed_off, actor):
    from jobs.job.models import GateCrossing

    GateCrossing.objects.create(
        job=job,
        left="inspection",
        entered="fitting",
        missing=["the timing mark proven with a piston stop"],
        reason="head is sealed, customer agreed",
        by=actor.person,
        at=actor.at,
    )
    text = text_of(documents.stored_bytes(issue(job, actor)))
    assert "head is sealed, customer agreed" in text


@pytest.mark.parametrize(
    ("host", "said"),
    [
        ("localhost:8000", True), ("192.168.7.20:8443", True), ("bench.local", True), ("[fd00::20]:8443", True),
        ("workshop", True), ("8.8.8.8", False), ("papers.workshop.example", False), ("local.workshop.example", False),
    ],
)  # fmt: skip
def test_where_a_link_would_not_reach_the_customer_the_page_says_so(
    settings, browser_of, front_desk, handed_over, host, said
):
    settings.ALLOWED_HOSTS = ["*"]
    page = browser_of(front_desk).get(reverse("handover:page", args=[handed_over.code]), headers={"host": host})
    assert ("works only in this network" in page.content.decode()) == said
