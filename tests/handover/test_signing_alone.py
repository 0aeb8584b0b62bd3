"""Signing off one's own work where nobody else is there: after a pause, with the strobe read again."""

import uuid
from dataclasses import replace
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from garage.people.models import Workshop
from garage.record.models import TrailEntry
from jobs.documents.models import DocumentKind
from jobs.handover import actions, queries
from jobs.handover.models import SignOff
from jobs.handover.refusals import HandoverRuleError
from jobs.job.second_check import SecondCheckRefusedError
from jobs.maps.queries import expected_advance
from tests.factories import fact_of
from tests.handover.test_what_was_signed import check_finally


@pytest.fixture
def done(job, version, actor, workshop):
    """The car as one person left it: read back, proven, checked; the workshop is one person's."""
    Workshop.objects.update(works_alone=True)
    check_finally(job, version, actor)
    return job


def later(actor, minutes=60):
    return replace(actor, at=timezone.now() + timedelta(minutes=minutes))


def readings(version, off=0.0):
    return [(rpm, expected_advance(version.pk, rpm, 0.0) + off) for rpm in (900.0, 3000.0)]


def sign(job, version, actor, *, minutes=60, read_again=None, **more):
    return actions.sign_off_own(
        job=job,
        id=uuid.uuid4(),
        remarks="clamp, mark, leads and read-back",
        read_again=readings(version) if read_again is None else read_again,
        actor=later(actor, minutes),
        **more,
    )


def test_ones_own_work_is_signed_after_a_pause_with_the_strobe_read_again(done, version, actor):
    signature = sign(done, version, actor)
    assert queries.current_sign_off(done) == signature
    assert signature.pause == "same person, 60 min later"
    assert [look["rpm"] for look in signature.read_again] == [900, 3000]
    assert "same person" in TrailEntry.objects.filter(event="signed-off").latest("id").sentence


def test_the_customers_sheet_says_that_it_was_the_same_person_and_what_was_read(done, version, actor):
    sign(done, version, actor)
    paper = actions.issue_document(
        job=done, kind=DocumentKind.CUSTOMER_SHEET, idempotency_key=uuid.uuid4(), actor=later(actor, 70)
    )
    assert paper.made_from["sign_off"]["pause"] == "same person, 60 min later"
    assert len(paper.made_from["sign_off"]["read_again"]) == 2


def test_it_is_refused_too_soon(done, version, actor):
    with pytest.raises(SecondCheckRefusedError, match="Too soon"):
        sign(done, version, actor, minutes=15)


def test_it_is_refused_where_others_work(done, version, actor):
    Workshop.objects.update(works_alone=False)
    with pytest.raises(SecondCheckRefusedError, match="someone else"):
        sign(done, version, actor)


def test_a_second_reading_that_fails_is_refused_and_stays_in_the_journal(done, version, actor):
    with pytest.raises(HandoverRuleError, match=r"^Fail: .* at 900 rpm, 2\.0° off \(1° allowed\)\."):
        sign(done, version, actor, read_again=readings(version, off=-2.0))
    assert not SignOff.objects.exists()
    assert "2.0° off" in TrailEntry.objects.get(event="second-look-failed").sentence


@pytest.mark.parametrize("speeds", [[900.0], [900.0, 1300.0]], ids=["one speed", "close together"])
def test_it_is_read_at_two_speeds_far_apart(done, version, actor, speeds):
    looks = [(rpm, expected_advance(version.pk, rpm, 0.0)) for rpm in speeds]
    with pytest.raises(HandoverRuleError, match="at 2 speeds, 500 rpm apart"):
        sign(done, version, actor, read_again=looks)


def test_what_others_did_is_signed_as_the_second_check_itself(done, version, actor, second_mechanic):
    with pytest.raises(HandoverRuleError, match="Not your own work"):
        sign(done, version, replace(actor, person=second_mechanic))


def test_a_map_that_changed_meanwhile_is_looked_at_again(done, version, actor):
    with pytest.raises(HandoverRuleError, match="changed meanwhile"):
        sign(done, version, actor, shown="something else")


def test_the_database_itself_refuses_a_shorter_pause(done, version, actor):
    with pytest.raises(IntegrityError), transaction.atomic():
        SignOff.objects.create(job=done, map_version_id=version.pk, own_pause_s=1199, **fact_of(actor))


def test_the_page_shows_none_of_the_first_readings(done, version, actor, browser_of):
    page = browser_of(actor.person).get(reverse("handover:again", args=[done.code])).content.decode()
    assert "Read the strobe again, pipe off, at two speeds." in page
    for reading in queries._work_to_look_at(done)[:-1]:
        assert f"{reading.measured_deg:g}°" not in page


def test_whoever_did_the_work_is_shown_the_way_and_not_the_second_persons_form(done, actor, browser_of):
    page = browser_of(actor.person).get(reverse("handover:page", args=[done.code])).content.decode()
    assert "I am alone: read again" in page
    assert "Sign off car" not in page
