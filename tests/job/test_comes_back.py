"""A car that comes back starts from what the last job left in it, and says that nobody has checked it again."""

import uuid
from dataclasses import replace
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from jobs.checklists import queries as checklists
from jobs.inspection import queries as inspection
from jobs.job.actions import JobRuleError, book_job, go_on
from jobs.job.models import JobKind, Stage
from jobs.job.pages import scale_stages
from jobs.maps import queries as maps
from jobs.maps.actions import MapRefusedError, record_read_back
from jobs.maps.carried_over import carried_over
from jobs.maps.carry_over_actions import carry_over
from jobs.maps.unit_fit import lines_of
from jobs.strobe import queries as strobe
from tests.checklists.factories import put_in_shipped_lists
from tests.factories import JobFactory, VehicleFactory
from tests.jobs_factories import proven_version

LAST_YEAR = timedelta(days=365)


@pytest.fixture
def left(actor):
    """The version that a conversion left in the car a year ago."""
    then = replace(actor, at=timezone.now() - LAST_YEAR)
    job = JobFactory(stage="after-care", vehicle=VehicleFactory(registration="HLD 150 C"), made_at=then.at)
    return proven_version(then, job=job, base_deg=9.0)


def booked(left, actor, kind=JobKind.CHECK):
    return book_job(
        vehicle=left.job.vehicle, wanted="its yearly check", idempotency_key=uuid.uuid4(), actor=actor, kind=kind
    )


def test_the_car_comes_with_the_unit_that_is_in_it(left, actor):
    assert booked(left, actor).unit == left.job.unit


def test_what_the_last_job_left_is_shown_with_its_date_as_not_yet_checked_again(browser_of, mechanic, left, actor):
    job = booked(left, actor)
    found = carried_over(job)
    assert (found.version, found.job) == (left, left.job)
    assert maps.in_car(job).version is None, "nothing is proven for this job"
    page = browser_of(mechanic).get(reverse("board:job", args=[job.code])).content.decode()
    assert left.job.code in page
    assert "not yet checked again" in page
    assert f"{found.proven_at:%b %Y}" in page


def test_a_car_that_was_never_here_carries_nothing_over(actor):
    job = JobFactory()
    assert carried_over(job) is None
    with pytest.raises(MapRefusedError, match="No earlier job"):
        carry_over(job=job, idempotency_key=uuid.uuid4(), actor=actor)


def test_another_car_s_map_is_not_carried_over(left, actor):
    assert carried_over(JobFactory(vehicle=VehicleFactory())) is None


def test_the_version_taken_over_is_the_same_map_and_says_where_it_comes_from(left, actor):
    job = booked(left, actor)
    form = uuid.uuid4()
    version = carry_over(job=job, idempotency_key=form, actor=actor)
    assert carry_over(job=job, idempotency_key=form, actor=actor) == version, "pressed twice"
    assert version.ignition_map() == left.ignition_map()
    assert version.released_at is not None
    assert left.job.code in version.origin
    assert version.copied_from == left
    assert maps.progress(job).missing == ["a clean read-back of version 1, after switching off and on"]


def test_a_clean_read_back_proves_it_for_this_job(left, actor):
    job = booked(left, actor)
    version = carry_over(job=job, idempotency_key=uuid.uuid4(), actor=actor)
    record_read_back(
        fact_id=uuid.uuid4(),
        version=version,
        unit=job.unit,
        shown={line.position: line.value_text for line in lines_of(version)},
        power_cycled=True,
        actor=replace(actor, at=timezone.now()),
    )
    assert maps.in_car(job).version == version
    assert maps.progress(job).missing == []


def test_the_strobe_expects_the_base_timing_the_car_left_with(left, actor):
    assert strobe.suggested_base_deg(booked(left, actor)) == 9.0


@pytest.mark.parametrize(
    ("kind", "stages"),
    [
        (JobKind.CHECK, ["booked", "inspection", "map", "handover", "after-care"]),
        (JobKind.UNIT_REPLACED, ["booked", "fitting", "base-timing", "map", "handover", "after-care"]),
        (JobKind.SETTINGS, ["booked", "inspection", "base-timing", "map", "road-test", "handover", "after-care"]),
    ],
)
def test_a_check_and_a_replaced_unit_have_few_stages(left, actor, kind, stages):
    job = booked(left, actor, kind)
    assert [stage["key"] for stage in scale_stages(job)] == stages


def test_a_check_goes_from_its_inspection_straight_to_the_map(left, actor, owner):
    job = booked(left, actor)
    owners = replace(actor, person=owner)
    go_on(job=job, leaving=Stage.BOOKED, reason="the car stands here", actor=owners)
    go_on(job=job, leaving=Stage.INSPECTION, reason="seen last week", actor=owners)
    assert job.stage == Stage.MAP
    with pytest.raises(JobRuleError, match="no fitting"):
        go_on(job=job, leaving=Stage.FITTING, actor=owners)


def test_a_check_asks_for_its_short_list_and_not_for_a_sweep(left, actor):
    put_in_shipped_lists()
    job = booked(left, actor)
    (first, suits), *_ = checklists.suitable_revisions(job, "inspection")
    assert (first.template.shipped_key, suits) == ("yearly-check", True)
    assert len(first.items.all()) < 25
    assert not [words for words in inspection.progress(job).missing if "sweep" in words or "verdict" in words]


def test_the_next_action_leads_to_the_map_that_was_left(browser_of, mechanic, left, actor):
    job = booked(left, actor, JobKind.UNIT_REPLACED)
    assert maps.progress(job).next_label == "Take over the map from the last job"
    client = browser_of(mechanic)
    page = client.get(reverse("maps:page", args=[job.code])).content.decode()
    assert "Use version 1" in page
    answer = client.post(reverse("maps:carry-over", args=[job.code]), {"idempotency_key": uuid.uuid4()})
    assert answer.url == reverse("maps:key-in", args=[job.code, 1])
