"""From what was noted on the road to the draft of the next version, decided point by point."""

import uuid

import pytest
from django.db import DatabaseError, transaction

from garage.people.models import Workshop
from garage.record.idempotency import SentBeforeError
from jobs.job.journal import JobAbandonedError
from jobs.job.models import Job
from jobs.maps.actions import release, set_aside, start_version
from jobs.maps.models import MapVersion
from jobs.proposals import queries
from jobs.proposals.actions import Choice, ProposalRefusedError, decide
from jobs.proposals.evidence import RunLog
from jobs.proposals.models import Decision, PointEvidence, Proposal, ProposedPoint
from jobs.roadtest.actions import withdraw_note
from tests.jobs_factories import proven_version
from tests.proposals.conftest import CURVE
from timing.roadlog import Driven, Pinking, Place

HEARD_TWICE = [("pinking", 2, 2600, 1, {"words": "on Beacon hill"})] * 2
FINE = ("fine", 0, 2600, 1)


def open_proposal(job, **more):
    """As a page finds it: of the job as it stands in the book."""
    return queries.open_proposal(Job.objects.get(pk=job.pk), **more)


def changes(proposal):
    return {point.where: point.change_deg for point in proposal.points}


def accept_all(proposal, actor, **more):
    choices = [Choice(point.place, Decision.ACCEPT) for point in proposal.points]
    values = {"job": proposal.job, "id": uuid.uuid4(), "basis": proposal.basis, "choices": choices, "actor": actor}
    return decide(**values | more)


def test_pinking_noted_twice_speaks_for_less_where_the_look_up_reads(job, in_car, on_the_road):
    """Handbook 9, by hand: clear is 2, twice; 2600 is 0.2 of the way from 2500 to 3000, so 3.2 and 0.8 of score;
    the unit of the test steps by whole degrees: 4 and 1.
    """
    on_the_road.drive(in_car, *HEARD_TWICE)
    assert changes(open_proposal(job)) == {"2500 rpm": -4, "3000 rpm": -1}


def test_what_is_accepted_becomes_the_next_draft_and_its_reason_names_the_notes(job, in_car, on_the_road, actor):
    on_the_road.drive(in_car, *HEARD_TWICE)
    draft = accept_all(open_proposal(job), actor).draft
    assert draft.is_draft
    assert draft.parent == in_car
    assert draft.curve == [[500, 0], [1000, 0], [2000, 14], [2500, 14], [3000, 19], [4000, 22]]
    assert draft.reason == (
        "definite pinking, twice at 2600 rpm, 1 inHg, on Beacon hill: 4° less at 2500 rpm; 1° less at 3000 rpm"
    )


def test_each_point_is_accepted_changed_or_refused_by_itself(job, in_car, on_the_road, actor):
    on_the_road.drive(in_car, *HEARD_TWICE)
    seen = open_proposal(job)
    first, second = (point.place for point in seen.points)
    choices = [Choice(first, Decision.CHANGE, -2, "cold engine"), Choice(second, Decision.REFUSE, words="clean there")]
    made = accept_all(seen, actor, choices=choices)
    assert made.draft.curve[3:5] == [[2500, 16], [3000, 20]]
    kept = [(point.decision, point.proposed_deg, point.change_deg, point.words) for point in made.points.all()]
    assert kept == [("change", -4, -2, "cold engine"), ("refuse", -1, 0, "clean there")]
    sentence = job.journal.get(event="proposal-decided").sentence
    assert "2500 rpm: 2° less instead of 4° less (cold engine); 3000 rpm: refused (clean there)" in sentence


def test_a_proposal_that_is_refused_whole_is_kept_and_starts_nothing(job, in_car, on_the_road, actor):
    on_the_road.drive(in_car, *HEARD_TWICE)
    seen = open_proposal(job)
    made = accept_all(seen, actor, choices=[Choice(point.place, Decision.REFUSE) for point in seen.points])
    assert (made.draft, MapVersion.objects.count()) == (None, 1)
    assert not open_proposal(job).waits


@pytest.mark.parametrize(
    ("vacuum", "load", "where"),
    [(12, "full", "2500 rpm"), (12, "", "maximum vacuum advance"), (None, "", "2500 rpm"), (None, "full", "2500 rpm")],
)
def test_a_note_at_full_throttle_leaves_the_vacuum_part_alone(job, actor, on_the_road, vacuum, load, where):
    ramp = {"vacuum_scheme": "ramp", "vacuum_start_kpa": 10, "vacuum_full_kpa": 40, "vacuum_full_deg": 12}
    version = proven_version(actor, job=job, base_deg=6.0, curve=CURVE, **ramp)
    on_the_road.drive(version, ("pinking", 1, 2500, vacuum, {"load": load}))
    assert list(changes(open_proposal(job))) == [where]


@pytest.mark.parametrize(
    ("choice", "refusal"),
    [
        (Choice(3, Decision.CHANGE, -2, ""), "At 2500 rpm: say why it was changed."),
        (Choice(3, Decision.CHANGE, 1, "more"), "At 2500 rpm: after pinking only less advance."),
        (Choice(3, Decision.CHANGE, -20, "much less"), "At 2500 rpm: that goes below 5° in all."),
    ],
)
def test_a_change_against_the_rules_is_refused_with_its_point(job, in_car, on_the_road, actor, choice, refusal):
    on_the_road.drive(in_car, *HEARD_TWICE)
    seen = open_proposal(job)
    with pytest.raises(ProposalRefusedError, match=refusal):
        accept_all(seen, actor, choices=[choice, Choice(4, Decision.ACCEPT)])
    with pytest.raises(ProposalRefusedError, match="Decide every point"):
        accept_all(seen, actor, choices=[Choice(4, Decision.ACCEPT)])
    assert not Proposal.objects.exists()


def test_the_workshop_s_limits_hold(job, in_car, on_the_road):
    Workshop.objects.update(most_retard_deg=2, least_advance_deg=25.5)
    on_the_road.drive(in_car, *HEARD_TWICE)
    assert changes(open_proposal(job)) == {"3000 rpm": -0.5}  # 6 + 20 has half a degree left
    assert [point.where for point in open_proposal(job).held] == ["2500 rpm"]


class TestMeanwhile:
    """The proposal that is sent is not the one that stands any more."""

    @pytest.fixture
    def seen(self, job, in_car, on_the_road):
        self.run = on_the_road.drive(in_car, *HEARD_TWICE)
        return open_proposal(job)

    def refused(self, seen, actor, words):
        with pytest.raises(ProposalRefusedError, match=words):
            accept_all(seen, actor)

    def test_of_two_who_accept_at_once_the_second_is_told(self, seen, actor):
        accept_all(seen, actor)
        self.refused(seen, actor, "Ines Marlow has decided this proposal meanwhile")
        assert MapVersion.objects.count() == 2

    def test_the_same_page_sent_twice_is_one_decision(self, seen, actor):
        one = uuid.uuid4()
        assert accept_all(seen, actor, id=one) == accept_all(seen, actor, id=one)
        others = [Choice(point.place, Decision.REFUSE) for point in seen.points]
        with pytest.raises(SentBeforeError):
            accept_all(seen, actor, id=one, choices=others)
        assert MapVersion.objects.count() == 2

    def test_the_same_page_sent_again_with_another_figure_is_refused(self, seen, actor):
        def sent(degrees):
            first, *rest = seen.points
            choices = [Choice(first.place, Decision.CHANGE, degrees, "cold plugs")]
            choices += [Choice(point.place, Decision.REFUSE) for point in rest]
            return accept_all(seen, actor, id=one, choices=choices)

        one = uuid.uuid4()
        assert sent(-2.0) == sent(-2.0)
        with pytest.raises(SentBeforeError):
            sent(-1.0)

    def test_a_note_taken_back_changes_what_it_rests_on(self, seen, actor):
        withdraw_note(note=self.run.notes.first(), actor=actor)
        self.refused(seen, actor, "The notes or the map in the car have changed meanwhile")

    def test_another_note_does_too(self, seen, actor, on_the_road):
        on_the_road.note(self.run, "pinking", 1, 2600, 1)
        self.refused(seen, actor, "have changed meanwhile")

    def test_with_another_version_in_the_car_it_is_about_nothing_any_more(self, seen, actor, into_the_car):
        into_the_car(accept_all(seen, actor).draft)
        self.refused(seen, actor, "have changed meanwhile")

    def test_a_newer_release_is_driven_first(self, seen, actor, job):
        draft = start_version(job=job, parent=seen.version, reason="by hand", actor=actor)
        release(draft=draft, row_version=draft.row_version, actor=actor)
        self.refused(seen, actor, "Version 2 is released. Key it in and drive it first")

    def test_a_version_changed_outside_is_no_start_for_another(self, seen, actor, job, monkeypatch):
        monkeypatch.setattr(MapVersion, "is_sound", lambda version: False)
        assert open_proposal(job) is None
        self.refused(seen, actor, "No map is proven in the car now")

    def test_a_discarded_draft_opens_the_proposal_again(self, seen, actor, job):
        draft = accept_all(seen, actor).draft
        assert not open_proposal(job).waits
        set_aside(draft=draft, row_version=draft.row_version, reason="wrong car", actor=actor)
        assert accept_all(open_proposal(job), actor).draft.number == 3

    def test_an_abandoned_job_takes_no_decision(self, seen, actor, job):
        Job.objects.filter(pk=job.pk).update(state="abandoned", state_reason="sold")
        with pytest.raises(JobAbandonedError):
            accept_all(seen, actor)


def test_the_database_keeps_what_was_decided(job, in_car, on_the_road, actor):
    on_the_road.drive(in_car, *HEARD_TWICE)
    accept_all(open_proposal(job), actor)
    for table, change in (
        (Proposal, {"basis": ""}),
        (ProposedPoint, {"change_deg": -9}),
        (PointEvidence, {"weight": 0}),
    ):
        with pytest.raises(DatabaseError), transaction.atomic():
            table.objects.update(**change)


class TestGivingBack:
    @pytest.fixture
    def second(self, job, in_car, on_the_road, actor, into_the_car):
        """Version 2, with less advance at two points, in the car."""
        on_the_road.drive(in_car, *HEARD_TWICE)
        return into_the_car(accept_all(open_proposal(job), actor).draft)

    def test_after_two_clean_runs_over_the_same_place_a_step_is_offered(self, job, second, on_the_road, actor):
        on_the_road.drive(second, FINE)
        assert open_proposal(job).points == []
        on_the_road.drive(second, FINE)
        seen = open_proposal(job)
        assert seen.is_giving_back
        assert changes(seen) == {"2500 rpm": 1}
        assert seen.points[0].rests_on == (
            "Less was given here before. Clean in the last 2 runs: fine here, twice at 2600 rpm, 1 inHg"
        )
        assert accept_all(seen, actor).draft.curve[3] == [2500, 15]

    def test_two_runs_elsewhere_say_nothing_of_it(self, job, second, on_the_road):
        for _ in range(2):
            on_the_road.drive(second, ("fine", 0, 1200, 1))
        assert open_proposal(job).points == []

    def test_what_pinks_again_gets_nothing_back(self, job, second, on_the_road):
        on_the_road.drive(second, FINE)
        on_the_road.drive(second, FINE, ("pinking", 1, 2550, 1))
        seen = open_proposal(job)
        assert not seen.is_giving_back
        assert all(change < 0 for change in changes(seen).values())

    def test_after_a_step_back_the_same_places_are_driven_twice_again(
        self, job, second, on_the_road, actor, into_the_car
    ):
        for _ in range(2):
            on_the_road.drive(second, FINE)
        third = into_the_car(accept_all(open_proposal(job), actor).draft)
        on_the_road.drive(third, FINE)
        assert open_proposal(job).points == []
        on_the_road.drive(third, FINE)
        assert changes(open_proposal(job)) == {"2500 rpm": 1}

    def test_time_in_a_log_counts_as_driven(self, job, second, on_the_road):
        runs = [on_the_road.drive(second) for _ in range(2)]
        logs = {run.pk: RunLog(driven=[Driven(Place(2500, 2), 4.0)]) for run in runs}
        assert changes(open_proposal(job, logs=logs)) == {"2500 rpm": 1}


def test_knock_in_a_log_counts_by_how_sure_it_is(job, in_car, on_the_road, actor):
    """By hand: 2 x 0.5 at the point itself is a score of 1, which is 1 degree."""
    run = on_the_road.drive(in_car)
    logs = {run.pk: RunLog(pinking=[Pinking(Place(3000, 2), 2, 0.5, 1.5)])}
    seen = open_proposal(job, logs=logs)
    assert changes(seen) == {"3000 rpm": -1}
    kept = accept_all(seen, actor, logs=logs).points.get().evidence.get()
    assert (kept.note, kept.confidence, kept.lasted_s) == (None, 0.5, 1.5)
