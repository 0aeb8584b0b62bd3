"""Kinds of job: each with its stages and its list, changed with a reason."""

import pytest
from django.urls import reverse

from garage.record.models import TrailEntry
from jobs.checklists import queries as checklists
from jobs.job.actions import JobRuleError, change_kind, put_aside
from jobs.job.models import STAGES, STAGES_OF, JobKind, JobState, Stage
from tests.checklists.factories import put_in_shipped_lists
from tests.factories import JobFactory

pytestmark = pytest.mark.django_db


def change(job, kind, actor, reason="the owner brought the engine figures"):
    change_kind(job=job, kind=kind, reason=reason, actor=actor)
    job.refresh_from_db()
    return job


@pytest.mark.parametrize("kind", JobKind)
def test_every_kind_ends_with_the_same_proof(kind):
    assert [stage for stage in STAGES_OF[kind] if stage in (Stage.MAP, Stage.HANDOVER, Stage.AFTER_CARE)] == [
        Stage.MAP,
        Stage.HANDOVER,
        Stage.AFTER_CARE,
    ]


@pytest.mark.parametrize("kind", JobKind)
def test_every_kind_has_a_sheet_with_hold_points(kind, workshop):
    put_in_shipped_lists()
    job = JobFactory(kind=kind)
    sheets = [stage for stage in (Stage.INSPECTION, Stage.FITTING) if stage in STAGES_OF[kind]]
    assert sheets
    for stage in sheets:
        revision, _ = checklists.suitable_revisions(job, stage.value)[0]
        assert revision.items.filter(hold_point=True).count() >= 5


@pytest.mark.parametrize(
    ("kind", "stage", "shipped"),
    [
        ("unit and map", "fitting", "unit-and-map"),
        ("unit replaced", "fitting", "unit-replaced"),
        ("settings", "inspection", "fitted-elsewhere"),
        ("check", "inspection", "yearly-check"),
        ("conversion", "inspection", "inspection-on-arrival"),
    ],
)
def test_each_kind_is_offered_its_own_list_first(kind, stage, shipped, workshop):
    put_in_shipped_lists()
    revision, _ = checklists.suitable_revisions(JobFactory(kind=kind), stage)[0]
    assert revision.template.shipped_key == shipped


def test_the_list_of_the_kind_comes_before_the_one_that_only_suits_the_trigger(workshop):
    put_in_shipped_lists()
    job = JobFactory(kind="unit and map")
    job.vehicle.distributor.trigger = "contact breaker"
    first, second, *others = checklists.suitable_revisions(job, "fitting")
    assert (first[0].template.shipped_key, first[1]) == ("unit-and-map", True)
    assert (second[0].template.shipped_key, second[1]) == ("contact-breaker", True)
    assert not any(suits for _, suits in others)


def test_a_car_keeps_its_stage_where_the_new_kind_has_it(workshop, actor):
    job = change(JobFactory(stage="fitting"), JobKind.UNIT_AND_MAP, actor)
    assert (job.kind, job.stage) == ("unit and map", "fitting")
    assert TrailEntry.objects.filter(event="kind-changed").latest("id").sentence == (
        "Kind of job: full conversion, now unit and map: the owner brought the engine figures"
    )


@pytest.mark.parametrize(
    ("stage", "kind", "stands_at"),
    [
        ("inspection", JobKind.UNIT_AND_MAP, "booked"),
        ("fitting", JobKind.SETTINGS, "inspection"),
        ("road-test", JobKind.CHECK, "map"),
        ("base-timing", JobKind.CHECK, "inspection"),
    ],
)
def test_where_it_has_not_the_car_stands_at_the_last_stage_before_it(workshop, actor, stage, kind, stands_at):
    assert change(JobFactory(stage=stage), kind, actor).stage == stands_at


def test_changed_twice_is_once(workshop, actor):
    job = JobFactory(stage="fitting")
    for _ in range(2):
        change(job, JobKind.UNIT_AND_MAP, actor)
    assert TrailEntry.objects.filter(event="kind-changed").count() == 1


def test_it_wants_a_reason_and_an_open_job(workshop, actor):
    job = JobFactory(stage="fitting")
    with pytest.raises(JobRuleError, match="reason"):
        change(job, JobKind.CHECK, actor, reason="")
    put_aside(job=job, state=JobState.ON_HOLD, reason="parts", actor=actor)
    with pytest.raises(JobRuleError, match="Resume"):
        change(job, JobKind.CHECK, actor)


def test_the_owner_changes_it_from_the_job_card(browser_of, owner, workshop):
    job, browser = JobFactory(stage="fitting"), browser_of(owner)
    card = browser.get(reverse("board:job", args=[job.code])).content.decode()
    address = reverse("board:kind", args=[job.code])
    assert address in card
    assert browser.post(address, {"kind": "unit and map", "reason": "sound distributor"}).status_code == 302
    job.refresh_from_db()
    assert job.kind == "unit and map"
    assert browser.post(address, {"kind": "anything", "reason": "x"}).status_code == 422


def test_the_stages_of_every_kind_stand_in_their_order():
    for stages in STAGES_OF.values():
        assert stages == sorted(stages, key=STAGES.index)
