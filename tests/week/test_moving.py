"""Moving a car on the week: by the form, which is what a drag and the keys send as well."""

import uuid
from datetime import date

import pytest
from django.urls import reverse

from garage.models import Bay, Staff
from garage.record.actor import Actor
from garage.record.row_versions import StaleEditError
from jobs.job.actions import JobRuleError, book_job, edit_booking
from jobs.job.models import Job, JobKind
from jobs.week.actions import move
from jobs.week.feed_actions import make_feed
from tests.factories import LONG_AGO, VehicleFactory
from tests.week.factories import away, car, day

pytestmark = pytest.mark.django_db


@pytest.fixture
def coming(mechanic):
    return car("KLM 204 B", booked_for=day(1), promised_for=day(3), mechanic=mechanic)


def moved(job, actor, **changed):
    values = {"booked_for": job.booked_for, "promised_for": job.promised_for, "mechanic": job.mechanic, "bay": job.bay}
    move(job=Job.objects.get(pk=job.pk), row_version=job.row_version, actor=actor, **(values | changed))
    job.refresh_from_db()


def refused(words, job, actor, **changed):
    with pytest.raises(JobRuleError, match=words):
        moved(job, actor, **changed)


def test_a_car_is_given_other_days_another_mechanic_and_a_bay(coming, second_mechanic, planner):
    bay = Bay.objects.create(name="Bay 1", made_at=LONG_AGO)
    moved(coming, planner, booked_for=day(2), promised_for=day(4), mechanic=second_mechanic, bay=bay)
    assert (coming.booked_for, coming.promised_for, coming.mechanic, coming.bay) == (
        day(2), day(4), second_mechanic, bay,
    )  # fmt: skip


def test_the_journal_says_who_moved_it_from_when_to_when_and_asks_no_reason(coming, planner):
    moved(coming, planner, promised_for=day(4))
    line = coming.journal.get()
    assert (line.by, line.sentence) == (planner.person, "Changed: promised for")
    assert line.figures["changed"] == {"promised_for": [str(day(3)), str(day(4))]}


def test_a_move_sent_twice_is_one(coming, planner):
    values = {"booked_for": day(1), "promised_for": day(4), "mechanic": coming.mechanic, "bay": None}
    for _ in range(2):
        move(job=Job.objects.get(pk=coming.pk), row_version=1, actor=planner, **values)
    assert coming.journal.count() == 1


def test_a_car_is_not_promised_before_it_comes(coming, planner):
    refused("Promised before the car comes in", coming, planner, promised_for=day(0))
    refused("Promised before the car comes in", coming, planner, booked_for=day(4))


def test_nothing_is_planned_for_a_day_that_is_over(coming, planner):
    refused("That day is over", coming, planner, booked_for=day(-1))
    refused("That day is over", coming, planner, promised_for=day(-1))


@pytest.mark.parametrize("slip", [date(26, 12, 1), date(2206, 12, 1), date.max])
def test_a_day_that_lies_years_off_is_refused_as_a_slip(coming, planner, slip):
    with pytest.raises(JobRuleError, match="Check the year"):
        edit_booking(job=coming, row_version=1, promised_for=slip, actor=planner)
    with pytest.raises(JobRuleError, match="Check the year"):
        edit_booking(job=coming, row_version=1, booked_for=slip, actor=planner)


def test_the_form_says_beside_the_box_that_a_year_is_a_slip(browser_of, front_desk, coming):
    typed = {"booked_for": "2206-12-01", "promised_for": "", "mechanic": "", "bay": "", "row_version": "1"}
    answer = browser_of(front_desk).post(reverse("week:move", args=[coming.code]), typed)
    assert answer.status_code == 422
    assert "Check the year" in answer.context["form"].errors["booked_for"][0]


def test_a_slip_of_an_earlier_release_stops_no_page_and_can_be_put_right(browser_of, owner, planner):
    wrong = car("KLM 1", booked_for=date(26, 12, 1), promised_for=date.max)
    boss = Actor(person=owner, at=planner.at)
    token = make_feed(person=None, with_names=False, idempotency_key=uuid.uuid4(), actor=boss)
    for page in (reverse("week:week"), reverse("board:board"), reverse("week:feed", args=[token])):
        assert browser_of(owner).get(page).status_code == 200
    moved(wrong, planner, promised_for=None)
    assert wrong.promised_for is None


def test_a_late_car_may_keep_its_day_and_get_another_mechanic(mechanic, second_mechanic, planner):
    late = car("KLM 1", stage="fitting", promised_for=day(-3), mechanic=mechanic)
    moved(late, planner, mechanic=second_mechanic)
    assert late.mechanic == second_mechanic


def test_a_car_that_is_here_does_not_come_on_another_day(mechanic, planner):
    here = car("KLM 1", stage="fitting", booked_for=day(-2), promised_for=day(3), mechanic=mechanic)
    refused("here already", here, planner, booked_for=day(1))


@pytest.mark.parametrize(
    ("columns", "words"),
    [
        ({"stage": "after-care"}, "handed over"),
        ({"state": "on hold", "state_reason": "no coil"}, "Resume it first"),
        ({"state": "abandoned", "state_reason": "sold"}, "Resume it first"),
    ],
)
def test_a_car_that_nobody_works_on_is_not_moved(planner, columns, words):
    refused(words, car("KLM 1", **columns), planner, promised_for=day(2))


def test_nobody_is_promised_a_car_by_a_person_who_is_away(coming, second_mechanic, planner):
    away(second_mechanic, 3, 8, planner)
    refused("Tam Okoro is away 3 Dec 2026 to 8 Dec 2026", coming, planner, mechanic=second_mechanic)


def test_a_person_who_is_away_when_a_car_comes_may_have_it_for_a_later_day(coming, second_mechanic, planner):
    away(second_mechanic, 1, 2, planner)
    moved(coming, planner, mechanic=second_mechanic)
    assert coming.mechanic == second_mechanic


def test_what_else_is_booked_may_be_edited_while_its_mechanic_is_away(coming, planner):
    away(coming.mechanic, 3, 3, planner)
    edit_booking(job=coming, row_version=1, actor=planner, wanted="Starts hot")
    assert Job.objects.get().wanted == "Starts hot"


def test_a_booking_knows_the_same_rules(mechanic, planner):
    away(mechanic, 3, 3, planner)
    for days in ({"booked_for": day(2), "promised_for": day(1)}, {"promised_for": day(3), "mechanic": mechanic}):
        with pytest.raises(JobRuleError):
            book_job(
                vehicle=VehicleFactory(), wanted="x", idempotency_key="5f0c6d54-5f0b-4b0a-9d3e-0d7a4d2f1b11",
                actor=planner, **days,
            )  # fmt: skip
    assert not Job.objects.exists()


def test_a_move_from_an_old_page_is_told(coming, planner):
    edit_booking(job=Job.objects.get(), row_version=1, actor=planner, wanted="Starts hot")
    with pytest.raises(StaleEditError):
        moved(coming, planner, promised_for=day(4))


def typed(job, **changed):
    values = {
        "row_version": job.row_version, "booked_for": job.booked_for or "", "promised_for": job.promised_for or "",
        "mechanic": job.mechanic_id or "", "bay": "",
    }  # fmt: skip
    return values | changed


def test_the_form_moves_a_car_and_goes_back_to_its_week(browser_of, front_desk, coming):
    answer = browser_of(front_desk).post(
        reverse("week:move", args=[coming.code]), typed(coming, promised_for="2026-12-09")
    )
    assert answer.url == "/week/?from=2026-12-07"
    assert Job.objects.get().promised_for == day(9)


def test_the_form_says_what_is_wrong_and_keeps_what_was_typed(browser_of, front_desk, coming, second_mechanic, planner):
    away(second_mechanic, 3, 3, planner)
    page = reverse("week:move", args=[coming.code])
    answer = browser_of(front_desk).post(page, typed(coming, mechanic=second_mechanic.pk))
    assert answer.status_code == 422
    assert "Tam Okoro is away 3 Dec 2026. Choose another day or person." in answer.content.decode()
    assert Job.objects.get().mechanic == coming.mechanic


def test_the_form_of_an_old_page_shows_what_is_saved_now(browser_of, front_desk, coming, planner):
    edit_booking(job=Job.objects.get(), row_version=1, actor=planner, promised_for=day(2))
    answer = browser_of(front_desk).post(reverse("week:move", args=[coming.code]), typed(coming, promised_for=day(4)))
    assert answer.status_code == 409
    assert Job.objects.get().promised_for == day(2)


def test_too_much_on_the_day_a_car_is_moved_to_is_said(browser_of, front_desk, mechanic):
    car("KLM 1", kind=JobKind.SETTINGS, booked_for=day(3), promised_for=day(3), mechanic=mechanic)
    second = car("KLM 2", kind=JobKind.SETTINGS, booked_for=day(1), promised_for=day(1), mechanic=mechanic)
    answer = browser_of(front_desk).post(
        reverse("week:move", args=[second.code]), typed(second, booked_for=day(3), promised_for=day(3)), follow=True
    )
    assert "Too much on Thursday 3 December: 12 of 8 h." in answer.content.decode()


def test_that_nobody_works_on_the_day_a_car_is_moved_to_is_said(browser_of, front_desk, coming):
    typed = {"booked_for": day(1), "promised_for": day(6), "mechanic": coming.mechanic_id, "row_version": "1"}
    answer = browser_of(front_desk).post(reverse("week:move", args=[coming.code]), typed, follow=True)
    assert "Nobody works on Sunday 6 December." in answer.content.decode()
    assert "Nobody works on Tuesday" not in answer.content.decode()


@pytest.mark.parametrize("day_typed", ["x", "2026-02-30", "99999-01-01"])
def test_a_day_that_is_none_is_refused(browser_of, front_desk, coming, day_typed):
    answer = browser_of(front_desk).post(
        reverse("week:move", args=[coming.code]), typed(coming, promised_for=day_typed)
    )
    assert answer.status_code == 422


def test_a_car_stays_with_somebody_who_left_until_it_is_given_to_another(browser_of, front_desk, coming):
    Staff.objects.filter(pk=coming.mechanic_id).update(is_active=False)
    answer = browser_of(front_desk).post(reverse("week:move", args=[coming.code]), typed(coming, promised_for=day(4)))
    assert answer.status_code == 302
