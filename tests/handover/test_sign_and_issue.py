"""The signature and the customer's sheet in one gesture, by whoever may give the second check."""

import uuid

import pytest
from django.urls import reverse

from garage.people.actions import set_pin
from garage.people.models import Workshop
from jobs.documents.models import DocumentKind, IssuedDocument
from jobs.handover.models import SignOff
from jobs.handover.queries import progress
from jobs.handover.review_token import review_token
from jobs.handover.second_look import speeds_to_hold
from tests.handover.test_what_was_signed import check_finally
from tests.pages import text_of

PIN = "4711"


@pytest.fixture
def done(job, version, actor, workshop):
    check_finally(job, version, actor)
    return job


@pytest.fixture
def colleague(second_mechanic, actor):
    set_pin(person=second_mechanic, pin=PIN, actor=actor)
    return second_mechanic


def sign(client, job, **more):
    form = {"id": uuid.uuid4(), "looked": "on", "remarks": "", "shown": review_token(job), "issue": "1", **more}
    return client.post(reverse("handover:sign-off", args=[job.code]), form)


def test_another_person_signs_and_the_sheet_is_issued_with_it(browser_of, done, second_mechanic):
    sign(browser_of(second_mechanic), done)
    assert SignOff.objects.get().by == second_mechanic
    assert IssuedDocument.objects.get().kind == DocumentKind.CUSTOMER_SHEET


def test_sent_twice_it_is_one_signature_and_one_sheet(browser_of, done, second_mechanic):
    client, form = browser_of(second_mechanic), {"id": uuid.uuid4()}
    shown = review_token(done)
    for _ in range(2):
        sign(client, done, shown=shown, **form)
    assert (SignOff.objects.count(), IssuedDocument.objects.count()) == (1, 1)


def test_without_that_button_nothing_is_issued(browser_of, done, second_mechanic):
    form = {"id": uuid.uuid4(), "looked": "on", "remarks": "", "shown": review_token(done)}
    browser_of(second_mechanic).post(reverse("handover:sign-off", args=[done.code]), form)
    assert SignOff.objects.exists()
    assert not IssuedDocument.objects.exists()


def test_a_colleague_signs_by_pin_and_whoever_is_signed_in_stays_so(browser_of, done, actor, colleague):
    client = browser_of(actor.person)
    assert "Second check by" in text_of(client.get(reverse("handover:page", args=[done.code])))
    sign(client, done, person=colleague.pk, pin=PIN)
    assert SignOff.objects.get().by == colleague
    assert IssuedDocument.objects.get().issued_by == colleague
    assert f"Signed in:&nbsp; {actor.person}" in text_of(client.get(reverse("handover:page", args=[done.code])))


def test_a_wrong_pin_signs_nothing_and_says_so(browser_of, done, actor, colleague):
    answer = sign(browser_of(actor.person), done, person=colleague.pk, pin="0000")
    assert answer.status_code == 422
    assert "PIN" in text_of(answer)
    assert not SignOff.objects.exists()


def test_whoever_did_the_work_is_no_colleague_for_it(browser_of, done, actor, second_mechanic):
    set_pin(person=actor.person, pin=PIN, actor=actor)
    answer = sign(browser_of(second_mechanic), done, person=actor.person.pk, pin=PIN)
    assert "Someone else must do the second check" in text_of(answer)
    assert not SignOff.objects.exists()


def test_where_one_works_alone_the_way_leads_to_the_page_without_readings(done):
    assert progress(done).next_url == reverse("handover:page", args=[done.code]) + "#sign-off"
    Workshop.objects.update(works_alone=True)
    assert progress(done).next_url == reverse("handover:again", args=[done.code])


def test_the_page_without_readings_asks_for_two_speeds_of_the_map(browser_of, done, version, actor):
    Workshop.objects.update(works_alone=True)
    low, high = speeds_to_hold(version)
    assert {low, high} <= {rpm for rpm, _ in version.curve}
    page = browser_of(actor.person).get(reverse("handover:again", args=[done.code])).content.decode()
    assert f'value="{low:g}"' in page
    assert f'value="{high:g}"' in page


def test_a_map_of_one_point_proposes_no_speeds(version):
    version.curve = [[1000.0, 0.0]]
    assert speeds_to_hold(version) is None
