"""The pages of a proposal: seen by everybody, decided at the car; and where a figure comes from."""

import uuid

import pytest
from django.urls import reverse

from jobs.job.models import Job
from jobs.maps.actions import change_draft, start_version
from jobs.maps.models import SETTINGS, MapVersion
from jobs.proposals.actions import Choice, decide
from jobs.proposals.models import Decision, Proposal
from jobs.proposals.queries import open_proposal
from tests.pages import text_of

HEARD = [("pinking", 2, 2600, 1, {"words": "on Beacon hill"})] * 2


@pytest.fixture
def at_the_car(browser_of, mechanic):
    return browser_of(mechanic)


@pytest.fixture
def heard(job, in_car, on_the_road):
    return on_the_road.drive(in_car, *HEARD)


def address(job, name="page", *more):
    return reverse(f"proposals:{name}", args=[job.code, *more])


def typed(job, **more):
    """The form as it is filled in: everything accepted, unless said otherwise."""
    seen = open_proposal(Job.objects.get(pk=job.pk))
    accepted = {f"decision-{point.place}": "accept" for point in seen.points}
    return {"id": uuid.uuid4(), "basis": seen.basis, **accepted, **more}


def accepted(job, actor):
    seen = open_proposal(Job.objects.get(pk=job.pk))
    choices = [Choice(point.place, Decision.ACCEPT) for point in seen.points]
    return decide(job=job, id=uuid.uuid4(), basis=seen.basis, choices=choices, actor=actor).draft


def test_before_and_after_are_drawn_and_tabled_before_anybody_accepts(at_the_car, job, heard):
    page = text_of(at_the_car.get(address(job)))
    assert "2500 rpm 18° 14° 4° less" in page
    assert "Definite pinking, twice at 2600 rpm, 1 inHg, on Beacon hill" in page
    assert "with the proposal" in page
    assert "common practice, no source" in page


def test_who_may_not_record_sees_it_without_the_form(browser_of, front_desk, job, heard):
    page = browser_of(front_desk).get(address(job))
    assert "2500 rpm: 4° less" in text_of(page)
    assert 'name="decision-' not in page.content.decode()


def test_accepting_leads_to_the_new_draft(at_the_car, job, heard):
    answer = at_the_car.post(address(job), typed(job))
    assert answer.url == reverse("bench:version", args=[job.code, 2])
    assert "Decided by Ines Marlow" in text_of(at_the_car.get(address(job)))


def test_what_is_changed_needs_its_degrees_and_a_word(at_the_car, job, heard):
    answer = at_the_car.post(address(job), typed(job, **{"decision-3": "change"}))
    assert answer.status_code == 422
    page = text_of(answer)
    assert "Enter the degrees." in page
    assert "Say why it was changed." in page
    assert not Proposal.objects.exists()


def test_a_point_without_a_choice_is_asked_for(at_the_car, job, heard):
    answer = at_the_car.post(address(job), typed(job, **{"decision-4": ""}))
    assert answer.status_code == 422
    assert "Accept, change or refuse it." in text_of(answer)


def test_a_page_that_is_out_of_date_is_told_so_and_shows_what_stands_now(at_the_car, job, heard, on_the_road):
    old = typed(job)
    on_the_road.note(heard, "pinking", 3, 2600, 1)
    answer = at_the_car.post(address(job), old)
    assert answer.status_code == 409
    assert "have changed meanwhile. Look at it again." in text_of(answer)


def test_the_decision_is_shown_with_what_each_point_rested_on(at_the_car, job, heard, actor):
    at_the_car.post(address(job), typed(job, **{"decision-4": "refuse", "words-4": "clean there"}))
    made = Proposal.objects.get()
    page = text_of(at_the_car.get(address(job, "decided", made.pk)))
    for words in ("Ines Marlow", "accepted 2500 rpm", "refused 3000 rpm", "‘clean there’", "on Beacon hill"):
        assert words in page


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("flat spot", "More often mixture than spark"),
        ("kick-back", "Stop cranking."),
        ("run-on", "the ignition is off"),
    ],
)
def test_other_symptoms_get_advice_in_words_and_no_figure(at_the_car, job, in_car, on_the_road, kind, words):
    on_the_road.drive(in_car, (kind, 0, 2600, 1))
    page = text_of(at_the_car.get(address(job)))
    assert words in page
    assert "ask for no change of the map" in page


def test_pinking_without_a_place_is_pointed_out(at_the_car, job, in_car, on_the_road):
    on_the_road.drive(in_car, ("pinking", 2, None, None))
    assert "Pinking without a place on the map counts for nothing yet." in text_of(at_the_car.get(address(job)))


def test_the_next_version_by_hand_begins_with_the_notes_for_its_reason(at_the_car, job, heard):
    page = at_the_car.get(reverse("bench:next", args=[job.code, 1])).content.decode()
    assert "definite pinking at 2600 rpm, 1 inHg: on Beacon hill" in page


class TestWhy:
    """Why is it 14 and not 18 at 2500?"""

    def why(self, client, version, **asked):
        return text_of(client.get(reverse("proposals:why", args=[version.job.code, version.number]), asked))

    def test_the_note_the_run_the_person_and_the_version_before(self, at_the_car, job, heard, actor):
        page = self.why(at_the_car, accepted(job, actor), rpm=2500)
        for words in (
            "20° = 6° base + 14° revs + 0° vacuum",
            "Speed curve at 2500 rpm: 14°",
            "14°, 4° less than version 1",
            "Pinking (definite) at 2600 rpm, 3.39 kPa · on Beacon hill",
            "Beacon hill · Driver: Ines Marlow, note-taker: Tam Okoro",
            "started with 18° from typed in",
        ):
            assert words in page

    def test_a_change_by_hand_is_told_with_its_reason_and_person(self, at_the_car, job, in_car, actor):
        draft = start_version(job=job, parent=in_car, reason="softer for old fuel", actor=actor)
        settings = {name: getattr(draft, name) for name in SETTINGS}
        settings["curve"] = [*draft.curve[:3], [2500, 17], *draft.curve[4:]]
        change_draft(draft=draft, row_version=draft.row_version, settings=settings, actor=actor)
        page = self.why(at_the_car, draft, rpm=2500)
        assert "17°, 1° less than version 1 · softer for old fuel By hand: Ines Marlow" in page

    def test_a_draft_edited_after_its_proposal_says_both(self, at_the_car, job, heard, actor):
        draft = accepted(job, actor)
        settings = {name: getattr(draft, name) for name in SETTINGS}
        settings["curve"] = [*draft.curve[:3], [2500, 13], *draft.curve[4:]]
        change_draft(draft=draft, row_version=draft.row_version, settings=settings, actor=actor)
        assert "Then edited on the bench." in self.why(at_the_car, draft, rpm=2500)

    def test_between_two_points_both_are_followed(self, at_the_car, in_car):
        page = self.why(at_the_car, in_car, rpm=2600)
        assert "Speed curve at 2500 rpm: 18°" in page
        assert "Speed curve at 3000 rpm: 20°" in page

    def test_what_a_curve_from_another_car_began_with_leads_there(self, at_the_car, job, in_car, actor):
        copy = start_version(
            job=job, parent=None, start=in_car.ignition_map(), copied_from=in_car, origin="another car", reason="like",
            unit_revision=in_car.unit_revision, actor=actor,
        )  # fmt: skip
        assert f"From job {job.code}, version 1" in self.why(at_the_car, copy, rpm=2500)

    def test_a_figure_that_cannot_be_is_asked_again(self, at_the_car, in_car):
        answer = at_the_car.get(reverse("proposals:why", args=[in_car.job.code, 1]), {"rpm": "many"})
        assert answer.status_code == 422

    def test_every_point_of_the_curve_leads_there(self, at_the_car, in_car):
        page = at_the_car.get(reverse("bench:version", args=[in_car.job.code, 1])).content.decode()
        assert f"{reverse('proposals:why', args=[in_car.job.code, 1])}?rpm=2500" in page
        assert MapVersion.objects.count() == 1
