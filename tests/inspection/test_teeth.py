"""What failed on the inspection is not waved through: the mechanic stops, the owner decides, the customer knows.

Limits: handbook section 11, rows 10 and 11; common practice, no source.
"""

import uuid
from dataclasses import replace

import pytest
from django.urls import reverse
from django.utils import timezone

from jobs.checklists.actions import record_entry
from jobs.documents.document_data import document_data
from jobs.inspection import actions, queries
from jobs.inspection.actions import VerdictRefusedError
from jobs.inspection.failures import failures_of
from tests.checklists.factories import sheet_with
from tests.factories import JobFactory
from tests.inspection.test_inspection import squeeze

LEAK = {"key": "fuel-leaks", "kind": "choice", "text": "Fuel leaks", "choices": ["none", "weeping"],
        "good_choices": ["none"], "hold_point": True}  # fmt: skip
PLAY = {"key": "side-play", "kind": "measure", "text": "Side play", "unit": "mm", "high": 0.1, "decimals": 2}


@pytest.fixture
def job(db):
    job = JobFactory(stage="inspection")
    job.vehicle.engine.cylinders = 4
    job.vehicle.engine.save()
    return job


@pytest.fixture
def owner_actor(actor, owner):
    return replace(actor, person=owner)


@pytest.fixture
def sheet(job, actor):
    return sheet_with([LEAK, PLAY], person=actor.person, job=job, kind="inspection")


def judge(job, actor, fitness, **more):
    return actions.give_verdict(
        job=job, id=uuid.uuid4(), fitness=fitness, remarks=more.pop("remarks", ""), actor=actor, **more
    )


def texts(job):
    return [failure.text for failure in failures_of(job)]


def test_a_fuel_leak_stops_the_verdict(job, sheet, actor):
    squeeze(job, actor, 1150, 1160, 1170, 1180)
    record_entry(sheet=sheet, key="fuel-leaks", id=uuid.uuid4(), choice="weeping", actor=actor)
    assert "Fuel leaks: weeping" in texts(job)[0]
    with pytest.raises(VerdictRefusedError, match="Fuel leaks"):
        judge(job, actor, "ready")


def test_a_spread_of_26_percent_is_said_with_its_limit(job, actor):
    squeeze(job, actor, 1200, 1180, 1150, 888)  # (1200 - 888) / 1200 = 0.26, by hand
    assert texts(job) == ["Compression spread: 26% (limit 15%)"]
    with pytest.raises(VerdictRefusedError, match="26%"):
        judge(job, actor, "ready")


def test_a_cylinder_that_was_not_read_is_no_ready_engine(job, actor):
    squeeze(job, actor, 1200, 1180)
    assert texts(job) == ["Compression not read: cylinder 3, 4"]
    assert "the compression of cylinder 3, 4" in queries.progress(job).missing


def test_what_was_not_read_stands_under_what_is_to_do_and_not_under_what_failed(job, mechanic, browser_of):
    text = browser_of(mechanic).get(f"/jobs/{job.code}/inspection/").text
    assert 'id="failed"' not in text
    assert "the compression of cylinder 1, 2, 3, 4" in text


def test_a_dead_cylinder_is_named(job, actor):
    squeeze(job, actor, 1200, 1180, 0, 1190)
    assert "No compression worth the name: cylinder 3" in texts(job)


def test_a_mark_that_is_off_stops_with_its_figure(job, actor):
    squeeze(job, actor, 1150, 1160, 1170, 1180)
    actions.record_mark_check(job=job, id=uuid.uuid4(), first_deg=-36, second_deg=36, mark_deg=3.5, actor=actor)
    assert texts(job) == ["Timing mark: 3.5° off (limit 1°)"]


def test_what_fails_without_stopping_needs_a_remark_and_no_owner(job, sheet, actor):
    squeeze(job, actor, 1150, 1160, 1170, 1180)
    record_entry(sheet=sheet, key="fuel-leaks", id=uuid.uuid4(), choice="none", actor=actor)
    record_entry(sheet=sheet, key="side-play", id=uuid.uuid4(), measure=0.18, actor=actor)
    with pytest.raises(VerdictRefusedError, match="Side play"):
        judge(job, actor, "with remarks")
    said = judge(job, actor, "with remarks", remark_on={"side-play": "new bushes ordered"})
    assert [one["remark"] for one in said.decided] == ["new bushes ordered"]


def test_only_the_owner_goes_on_past_what_stops_and_only_with_the_customer_told(job, actor, owner_actor):
    squeeze(job, actor, 1200, 1180, 1150, 888)
    remark = {"compression-spread": "valve seats next winter, low load until then"}
    with pytest.raises(VerdictRefusedError, match="Only the owner"):
        judge(job, actor, "with remarks", remark_on=remark, customer_told="by phone")
    with pytest.raises(VerdictRefusedError, match="customer was told"):
        judge(job, owner_actor, "with remarks", remark_on=remark)
    judge(job, owner_actor, "with remarks", remark_on=remark, customer_told="by phone, 3 March, agreed")
    facts = document_data(job, None, timezone.now())["inspection"]
    assert facts["decided_in_spite_of"][0]["failure"] == "Compression spread: 26% (limit 15%)"
    assert facts["customer_told"] == "by phone, 3 March, agreed"
    assert facts["decided_by"] == str(owner_actor.person)


def test_stopping_to_talk_to_the_owner_is_always_open(job, actor):
    assert judge(job, actor, "talk to the owner", remarks="no compression on three").decided == []


def test_the_page_lists_what_failed_and_brings_a_refused_verdict_back(browser_of, mechanic, job, actor):
    squeeze(job, actor, 1200, 1180, 1150, 888)
    client = browser_of(mechanic)
    url = reverse("inspection:page", args=[job.code])
    assert "Compression spread: 26% (limit 15%)" in client.get(url).content.decode()
    form = {"verdict-id": uuid.uuid4(), "verdict-fitness": "ready", "verdict-remarks": "runs sweetly"}
    answer = client.post(reverse("inspection:give-verdict", args=[job.code]), form)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Not ready: Compression spread: 26% (limit 15%)." in page
    assert "runs sweetly" in page
    assert not job.inspection_verdicts.exists()


def test_a_sheet_with_a_failure_on_it_is_not_called_complete(browser_of, mechanic, job, sheet, actor):
    squeeze(job, actor, 1150, 1160, 1170, 1180)
    record_entry(sheet=sheet, key="fuel-leaks", id=uuid.uuid4(), choice="none", actor=actor)
    record_entry(sheet=sheet, key="side-play", id=uuid.uuid4(), measure=0.2, actor=actor)

    def of_the_sheet():
        page = browser_of(mechanic).get(reverse("inspection:page", args=[job.code])).text
        return page.partition('id="sheet"')[2].partition("</section>")[0]

    assert "2 of 2 items done." in of_the_sheet()
    assert "1 failed" in of_the_sheet()
    assert "complete" not in of_the_sheet()
    record_entry(sheet=sheet, key="side-play", id=uuid.uuid4(), measure=0.05, actor=actor)
    assert "complete" in of_the_sheet()


def test_the_inspection_begins_with_what_failed_and_by_how_much(browser_of, mechanic, job, sheet, actor):
    record_entry(sheet=sheet, key="fuel-leaks", id=uuid.uuid4(), choice="none", actor=actor)
    record_entry(sheet=sheet, key="side-play", id=uuid.uuid4(), measure=0.2, actor=actor)
    squeeze(job, actor, 1150, 1160, 860, 1180)
    page = browser_of(mechanic).get(reverse("inspection:page", args=[job.code])).text
    first = page.partition("</nav>")[2].partition('id="failed"')[2].partition("</section>")[0]
    assert "Side play: 0.20" in first
    assert "0.10" in first
    assert "Compression spread: 27% (limit 15%)" in first
    assert page.index('id="failed"') < page.index("Cautions") < page.index('id="sheet"')
