"""What the board shows, and what the search finds."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from jobs.board.queries import Place, board
from jobs.finding.search import search
from jobs.job.models import GateCrossing, Job, JobState, Stage
from tests.checklists.factories import enter, sheet_with
from tests.factories import CustomerFactory, JobFactory, VehicleFactory

TODAY = timezone.localdate()


def on_board(job):
    seen = board(TODAY)
    return next(one.place for one in seen.lists if job in [row.job for row in one.rows])


@pytest.mark.parametrize(
    ("columns", "place"),
    [
        ({"booked_for": TODAY}, Place.ARRIVING),
        ({"booked_for": TODAY - timedelta(days=3)}, Place.ARRIVING),
        ({"booked_for": TODAY + timedelta(days=1)}, Place.BOOKED),
        ({"booked_for": None}, Place.BOOKED),
        ({"stage": Stage.FITTING}, Place.IN_HAND),
        ({"stage": Stage.FITTING, "state": JobState.ON_HOLD, "state_reason": "no coil"}, Place.ON_HOLD),
    ],
)
def test_each_job_stands_where_one_looks_for_it(db, columns, place):
    assert on_board(JobFactory(**columns)) == place


def test_a_car_that_just_left_is_among_those_due_back(actor):
    job = JobFactory(stage=Stage.AFTER_CARE)
    GateCrossing.objects.create(job=job, left="handover", entered="after-care", by=actor.person, at=actor.at)
    assert on_board(job) == Place.AFTER_CARE


def test_an_abandoned_job_leaves_the_board(db):
    JobFactory(state=JobState.ABANDONED, state_reason="sold")
    assert board(TODAY).is_empty


def test_the_board_names_the_next_action_in_words(browser_of, mechanic):
    JobFactory(booked_for=TODAY)
    assert "Complete booking" in browser_of(mechanic).get(reverse("board:board")).content.decode()


@pytest.mark.parametrize("text", ["klm 204", "KLM", "öhman", "ÖHMAN", "alder öhman", "hot"])
def test_search_finds_a_job_by_plate_name_or_words_whatever_the_case(db, text):
    vehicle = VehicleFactory(registration="KLM 204 B", customer=CustomerFactory(name="Signe Öhman"))
    job = JobFactory(vehicle=vehicle, wanted="Starts hot")
    assert search(text).jobs == [job]


def test_search_wants_every_word(db):
    JobFactory(vehicle=VehicleFactory(registration="KLM 204 B", customer__name="Wilf Danby"))
    assert search("KLM 205").nothing


@pytest.mark.parametrize("text", ["", "   ", "%", "_", "'; DROP TABLE", "\x00"])
def test_search_bears_any_text(browser_of, mechanic, text):
    JobFactory()
    assert browser_of(mechanic).get(reverse("finding:search"), {"q": text}).status_code == 200


def test_an_unknown_job_is_a_quiet_404(browser_of, mechanic):
    answer = browser_of(mechanic).get("/jobs/26-9999/")
    assert answer.status_code == 404
    assert "Traceback" not in answer.content.decode()


def test_the_job_card_shows_where_the_car_was_let_through(browser_of, owner):
    job = JobFactory()
    browser_of(owner).post(reverse("board:go-on", args=[job.code, "booked"]), {"reason": "odometer is broken"})
    Job.objects.get(pk=job.pk)
    assert "odometer is broken" in browser_of(owner).get(reverse("board:job", args=[job.code])).content.decode()


def test_the_job_card_begins_with_the_next_action_then_what_is_missing_then_figures(browser_of, mechanic):
    job = JobFactory(stage="map")
    page = browser_of(mechanic).get(reverse("board:job", args=[job.code])).text.partition("</header>")[2]
    assert page.index("Choose unit") < page.index("Still missing before road test") < page.index("Base timing</p>")


def test_a_long_list_of_what_is_missing_shows_the_first_and_the_rest_at_a_tap(browser_of, mechanic, actor):
    sheet = sheet_with([{"key": f"item-{n}", "section": f"Part {n}"} for n in range(9)], person=actor.person)
    page = browser_of(mechanic).get(reverse("board:job", args=[sheet.job.code])).text
    stands, _, folded = page.partition("Still missing")[2].partition("</section>")[0].partition("<details>")
    assert stands.count("<li>") == 6
    assert folded.count("<li>") >= 3


def test_the_questions_of_a_card_do_not_grow_with_the_sheet(browser_of, mechanic, actor, django_assert_max_num_queries):
    sheet = sheet_with([{"key": f"item-{n}"} for n in range(40)], person=actor.person)
    for n in range(20):
        enter(sheet, f"item-{n}", actor.person)
    browser = browser_of(mechanic)
    browser.get("/")
    with django_assert_max_num_queries(30):
        browser.get(reverse("board:job", args=[sheet.job.code]))
