"""What a logger heard speaks in a proposal beside what people noted, and less loudly."""

from dataclasses import replace

import pytest
from django.urls import reverse

from jobs.job.models import Job
from jobs.proposals.queries import open_proposal
from tests.proposals.test_proposals import accept_all, changes
from tests.roadlogs.conftest import hear, read

pytestmark = pytest.mark.django_db

LIMIT = 50.0


def logged(knocks, *, rpm=2500, seconds=20):
    """A logger's file of ten rows a second at a steady speed at full throttle; `knocks` are levels by the second."""
    rows = ["time,rpm,map (kPa),knock"]
    rows += [f"{t / 10:.1f},{rpm},101,{knocks.get(t / 10, 5)}" for t in range(10 * seconds)]
    return "\n".join(rows).encode()


def as_it_stands(job):
    return open_proposal(Job.objects.get(pk=job.pk))


def test_a_knock_in_a_log_asks_for_half_of_what_a_person_hears(job, in_car, on_the_road, actor):
    """By hand, handbook 9: a knock of twice the limit is heavy, 3, and half of it counts: 1.5 of score at 2500 rpm,
    2 (1.5) / 2 up to the next half: 1.5; the unit of the test steps by whole degrees: 2.
    """
    run = on_the_road.drive(in_car)
    read(run, actor, logged({4.0: 100}), knock_limit=LIMIT)
    seen = as_it_stands(job)
    assert changes(seen) == {"2500 rpm": -2}
    assert accept_all(seen, actor).draft.reason.startswith("heavy pinking in the log at 2500 rpm")


def test_what_was_decided_by_a_knock_leads_to_the_log_it_stands_in(
    job, in_car, on_the_road, actor, browser_of, mechanic
):
    run = on_the_road.drive(in_car)
    read(run, actor, logged({4.0: 100}), knock_limit=LIMIT)
    made = accept_all(as_it_stands(job), actor)
    link = f'href="{reverse("roadlogs:logs", args=[job.code, run.pk])}"'
    for address in (
        reverse("proposals:decided", args=[job.code, made.pk]),
        reverse("proposals:why", args=[job.code, made.draft.number]) + "?rpm=2500",
    ):
        assert link in browser_of(mechanic).get(address).text


def test_a_knock_just_above_the_limit_is_a_trace(job, in_car, on_the_road, actor):
    run = on_the_road.drive(in_car)
    read(run, actor, logged({4.0: 55}), knock_limit=LIMIT)
    [(piece, _)] = as_it_stands(job).points[0].evidence
    assert (piece.severity, piece.confidence) == (1.0, 0.5)


def test_knocks_of_one_hill_are_one_and_those_of_the_next_another(job, in_car, on_the_road, actor):
    run = on_the_road.drive(in_car)
    read(run, actor, logged({2.0: 60, 4.0: 70, 6.0: 55, 17.0: 60}), knock_limit=LIMIT)
    pieces = [piece for piece, _ in as_it_stands(job).points[0].evidence]
    assert [piece.severity for piece in pieces] == [2.0, 1.0]  # 70 is 1.4 times the limit, 60 is 1.2 times
    assert pieces[0].lasted_s == pytest.approx(0.3)


def test_what_a_person_noted_right_after_the_knock_counts_once(job, in_car, on_the_road, actor):
    run = on_the_road.drive(in_car)
    read(run, actor, logged({4.0: 100}), knock_limit=LIMIT)
    hear(run, replace(actor, at=run.begun_at), 5.5, rpm=2500, vacuum=0)
    pieces = {piece.note is None for point in as_it_stands(job).points for piece, _ in point.evidence}
    assert pieces == {False}


def test_time_driven_clean_in_two_logs_offers_a_step_back(job, in_car, on_the_road, actor, into_the_car):
    first = on_the_road.drive(in_car, ("pinking", 2, 2500, 0))
    assert first.notes.count() == 1
    second = into_the_car(accept_all(as_it_stands(job), actor).draft)
    for seconds in (60, 61):
        read(on_the_road.drive(second), actor, logged({}, seconds=seconds), knock_limit=LIMIT)
    seen = as_it_stands(job)
    assert seen.is_giving_back
    assert changes(seen)["2500 rpm"] > 0
