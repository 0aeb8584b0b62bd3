"""A signature and a sheet are about one state of the car: whatever changes afterwards wants both anew."""

import re
import uuid
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from django.urls import reverse
from django.utils import timezone

from garage.record.idempotency import SentBeforeError
from jobs.documents import actions as document_actions
from jobs.documents import queries as documents
from jobs.documents.models import CustomerLink, DocumentKind, IssuedDocument
from jobs.handover import actions, queries
from jobs.handover.models import SignOff
from jobs.job.actions import choose_unit
from jobs.job.models import GateCrossing
from jobs.maps import queries as maps
from jobs.maps.actions import record_read_back
from jobs.maps.unit_fit import lines_of
from jobs.strobe import actions as strobe
from jobs.strobe import queries as strobe_queries
from jobs.strobe.models import Purpose
from tests.handover.ready_car import read_as_the_map_gives
from tests.jobs_factories import FittedUnitFactory, proven_version, released_version


def later(actor):
    """The same person, at this moment: what happens later in a test happens later in the book."""
    return replace(actor, at=timezone.now())


def read_back(version, actor, unit=None, **wrong):
    shown = {line.position: line.value_text for line in lines_of(version)} | wrong.get("shown", {})
    return record_read_back(
        fact_id=uuid.uuid4(),
        version=version,
        unit=unit or version.job.unit,
        shown=shown,
        power_cycled=True,
        actor=later(actor),
    )


def check_finally(job, version, actor):
    session = strobe.begin_map_session(
        job=job,
        purpose=Purpose.FINAL,
        version_id=version.pk,
        version_words=str(version),
        idempotency_key=uuid.uuid4(),
        actor=later(actor),
    )
    read_as_the_map_gives(session, version, later(actor))


def issue(job, actor):
    return actions.issue_document(
        job=job, kind=DocumentKind.CUSTOMER_SHEET, idempotency_key=uuid.uuid4(), actor=later(actor)
    )


@pytest.fixture
def papers(job, signed_off, actor):
    return issue(job, actor)


def test_a_car_with_check_signature_and_sheet_may_leave(job, papers):
    assert queries.progress(job).missing == []


def test_a_version_that_was_replaced_and_put_back_is_signed_anew(job, papers, version, actor):
    second = released_version(later(actor), job=job, number=2, parent=version, unit_revision=version.unit_revision)
    read_back(second, actor)
    read_back(version, actor)
    assert maps.version_in_car(job) == version
    assert queries.current_sign_off(job) is None
    assert strobe_queries.final_check(job) is None
    assert len(queries.progress(job).missing) == 3


def test_another_unit_with_the_same_map_is_checked_and_signed_anew(job, papers, version, actor):
    spare = FittedUnitFactory(revision=version.unit_revision)
    choose_unit(job=job, unit=spare, actor=later(actor))
    read_back(version, actor, unit=spare)
    assert queries.current_sign_off(job) is None
    assert strobe_queries.final_check(job) is None


def test_reading_the_unit_back_once_more_leaves_a_signature_standing(job, papers, version, actor, signed_off):
    read_back(version, actor)
    assert queries.current_sign_off(job) == signed_off
    assert queries.progress(job).missing == []


def test_a_car_does_not_leave_after_a_read_back_that_did_not_agree(job, papers, version, actor):
    read_back(version, actor, shown={1: "99"})
    assert "did not agree" in queries.progress(job).missing[0]
    with pytest.raises(actions.HandoverRuleError, match="is missing"):
        issue(job, actor)


def test_nobody_signs_after_a_read_back_that_did_not_agree(job, checked, version, actor, second_actor):
    read_back(version, actor, shown={1: "99"})
    with pytest.raises(actions.HandoverRuleError, match="did not agree"):
        actions.sign_off(job=job, id=uuid.uuid4(), remarks="", actor=later(second_actor))


def test_nobody_signs_first_and_reads_the_strobe_afterwards(job, version, second_actor):
    with pytest.raises(actions.HandoverRuleError, match="final strobe check"):
        actions.sign_off(job=job, id=uuid.uuid4(), remarks="", actor=later(second_actor))
    check_finally(job, version, second_actor)
    with pytest.raises(actions.HandoverRuleError, match="Someone else"):
        actions.sign_off(job=job, id=uuid.uuid4(), remarks="", actor=later(second_actor))


def test_a_sheet_of_another_version_does_not_open_the_gate(job, papers, version, actor, second_actor):
    second = proven_version(
        later(actor), job=job, number=2, parent=version, unit_revision=version.unit_revision, base_deg=9.0
    )
    check_finally(job, second, actor)
    actions.sign_off(job=job, id=uuid.uuid4(), remarks="", actor=later(second_actor))
    assert queries.progress(job).missing == ["the customer's sheet, issued after the second check"]
    told = issue(job, actor)
    assert told.made_from["map"]["number"] == 2
    assert queries.progress(job).missing == []


def test_a_sheet_of_another_unit_is_told_by_its_serial_number(job, papers, version, actor):
    papers.made_from["map"]["serial_number"] = "another unit"
    assert not documents.sheet_is_of(papers, maps.in_car(job), job.unit)


def test_of_two_sheets_issued_at_once_one_is_told_of_the_other(job, signed_off, actor, monkeypatch):
    real = document_actions.set_document

    def meanwhile(kind, facts):
        monkeypatch.setattr(document_actions, "set_document", real)
        issue(job, actor)
        return real(kind, facts)

    monkeypatch.setattr(document_actions, "set_document", meanwhile)
    with pytest.raises(document_actions.DocumentRefusedError, match="just issued"):
        issue(job, actor)
    assert IssuedDocument.objects.get().number == 1


def test_one_link_comes_of_a_double_tap_and_it_is_shown(browser_of, front_desk, job):
    client, form = browser_of(front_desk), {"idempotency_key": uuid.uuid4()}
    for _ in range(2):
        client.post(reverse("documents:make-link", args=[job.code]), form)
    assert CustomerLink.objects.count() == 1
    page = client.get(reverse("handover:page", args=[job.code])).content.decode()
    token = page.split("/papers/")[1].split("/")[0]
    assert client.get(f"/papers/{token}/").status_code == 200


def test_another_person_s_signature_is_not_taken_for_a_second_tap(job, checked, second_actor, owner):
    form = uuid.uuid4()
    actions.sign_off(job=job, id=form, remarks="clean", actor=second_actor)
    with pytest.raises(SentBeforeError):
        actions.sign_off(job=job, id=form, remarks="clean", actor=replace(second_actor, person=owner))
    assert SignOff.objects.get().by == second_actor.person


def test_the_day_of_the_handover_is_told_by_the_workshop_s_clock(browser_of, mechanic, job):
    # half past midnight in London, in summer, is still the day before by universal time
    at = datetime(2026, 7, 1, 23, 30, tzinfo=UTC)
    GateCrossing.objects.create(job=job, left="handover", entered="after-care", by=mechanic, at=at)
    page = browser_of(mechanic).get(reverse("handover:after-care", args=[job.code])).content.decode()
    assert "handed over 2 Jul 2026" in page


def shown_on(page) -> str:
    return re.search(r'name="shown" value="([^"]+)"', page.content.decode())[1]


def test_what_is_signed_is_what_was_shown(browser_of, second_mechanic, job, checked, version, actor):
    client, address = browser_of(second_mechanic), reverse("handover:sign-off", args=[job.code])
    shown = shown_on(client.get(reverse("handover:page", args=[job.code])))
    check_finally(job, version, actor)  # somebody reads the strobe again while the second person has the old page
    form = {"id": uuid.uuid4(), "looked": "on", "remarks": "clamp and leads", "shown": shown}
    answer = client.post(address, form)
    assert answer.status_code == 422
    assert "changed meanwhile" in answer.content.decode()
    assert "clamp and leads" in answer.content.decode()
    assert not SignOff.objects.exists()
    assert client.post(address, form | {"shown": shown_on(answer)}).status_code == 302
    assert SignOff.objects.get().by == second_mechanic


def test_a_page_without_what_was_shown_signs_nothing(browser_of, second_mechanic, job, checked):
    form = {"id": uuid.uuid4(), "looked": "on", "remarks": ""}
    address = reverse("handover:sign-off", args=[job.code])
    assert browser_of(second_mechanic).post(address, form).status_code == 422
    assert not SignOff.objects.exists()
