"""The car is proven on the running engine before anybody signs for it: by speed, and by vacuum where the map has it."""

import uuid
from dataclasses import replace

import pytest
from django.urls import reverse
from django.utils import timezone

from jobs.documents.models import DocumentKind
from jobs.handover import actions, queries
from jobs.handover.models import SignOff
from jobs.strobe import actions as strobe
from jobs.strobe.final_check import final_check_of
from jobs.strobe.models import Purpose
from tests.factories import JobFactory
from tests.handover.ready_car import PIPE_ON, SPEEDS, read_as_the_map_gives
from tests.jobs_factories import proven_version

RAMP = {"vacuum_scheme": "ramp", "vacuum_start_kpa": 10.0, "vacuum_full_kpa": 40.0, "vacuum_full_deg": 10.0}


@pytest.fixture
def version(actor):
    """A map with a vacuum part, proven in the unit by a clean read-back."""
    return proven_version(actor, job=JobFactory(stage="handover"), **RAMP)


def final_session(version, actor):
    return strobe.begin_map_session(
        job=version.job,
        purpose=Purpose.FINAL,
        version_id=version.pk,
        version_words=str(version),
        idempotency_key=uuid.uuid4(),
        actor=actor,
    )


@pytest.fixture
def read(version, actor):
    """Read the strobe for the final check, every reading as the map gives it."""
    session = final_session(version, actor)
    return lambda **which: read_as_the_map_gives(session, version, actor, **which)


def sign(job, person):
    return actions.sign_off(job=job, id=uuid.uuid4(), remarks="", actor=replace(person, at=timezone.now()))


def test_a_check_with_the_pipe_off_alone_does_not_prove_the_vacuum_part(version, read, second_actor):
    read(speeds=SPEEDS)
    assert final_check_of(version.job).missing == ("the final check, pipe on, at 2 vacuums (0 so far)",)
    with pytest.raises(actions.HandoverRuleError, match="pipe on, at 2 vacuums"):
        sign(version.job, second_actor)
    assert not SignOff.objects.exists()


def test_the_page_of_the_readings_says_what_is_still_to_be_read_and_leads_back_to_the_handover(
    version, read, actor, browser_of
):
    read(speeds=SPEEDS)
    session = version.job.strobe_sessions.get()
    client = browser_of(actor.person)
    text = client.get(reverse("strobe:session", args=[version.job.code, session.pk])).text
    assert "the final check, pipe on, at 2 vacuums (0 so far)" in text
    assert (
        f'<a class="button button-quiet" href="{reverse("handover:page", args=[version.job.code])}">Handover</a>'
        in text
    )
    read(speeds=(), pipe_on=PIPE_ON)
    text = client.get(reverse("strobe:session", args=[version.job.code, session.pk])).text
    assert "Still missing" not in text


def test_two_readings_at_nearly_one_vacuum_are_one(version, read):
    read(speeds=SPEEDS, pipe_on=((2000, 20.0), (2500, 23.0)))
    assert final_check_of(version.job).missing == ("the final check, pipe on, at 2 vacuums (1 so far)",)


def test_a_check_with_the_pipe_on_alone_does_not_prove_the_speed_part(version, read):
    read(speeds=(900, 3600), pipe_on=((1500, 20.0), (2000, 20.0), (2500, 40.0), (3000, 40.0)))
    assert final_check_of(version.job).missing[0] == "the final check, pipe off, at 3 speeds (2 so far)"


def test_a_whole_check_within_tolerance_opens_the_way_to_the_second_check_and_the_sheet(version, read, second_actor):
    read(speeds=SPEEDS, pipe_on=PIPE_ON)
    assert final_check_of(version.job).passes
    sign(version.job, second_actor)
    later = replace(second_actor, at=timezone.now())
    actions.issue_document(job=version.job, kind=DocumentKind.CUSTOMER_SHEET, idempotency_key=uuid.uuid4(), actor=later)
    assert queries.progress(version.job).missing == []


def test_nobody_signs_before_the_final_check_was_read(version, second_actor):
    with pytest.raises(actions.HandoverRuleError, match="final strobe check"):
        sign(version.job, second_actor)


def test_a_vacuum_part_that_is_off_is_not_passed_by_good_speeds(version, read, actor, second_actor):
    read(speeds=SPEEDS, pipe_on=((2000, 20.0),))
    session = version.job.strobe_sessions.get(purpose=Purpose.FINAL)
    strobe.record_reading(
        session=session, id=uuid.uuid4(), rpm=2500, measured_deg=20.0, vacuum_kpa=40.0, vacuum_unit="kPa", actor=actor
    )
    assert not final_check_of(version.job).passes
    with pytest.raises(actions.HandoverRuleError):
        sign(version.job, second_actor)


def test_the_page_says_what_the_final_check_lacks(browser_of, mechanic, version, read):
    read(speeds=SPEEDS)
    page = browser_of(mechanic).get(reverse("handover:page", args=[version.job.code])).content.decode()
    assert "pipe on, at 2 vacuums (0 so far)" in page
