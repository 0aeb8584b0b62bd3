"""Cautions stand whole until they were read today; then their names are enough, and a tap shows them."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from jobs.job.cautions import CAUTIONS_OF
from jobs.job.models import CautionRead, Stage
from tests.factories import JobFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(workshop):
    return JobFactory(stage="inspection")


def page_of(browser, job):
    return browser.get(reverse("inspection:page", args=[job.code])).content.decode()


def read(browser, job, stage=Stage.INSPECTION, **more):
    titles = [caution.title for caution in CAUTIONS_OF[stage]]
    return browser.post(reverse("board:cautions-read", args=[job.code]), {"caution": titles, **more})


def test_they_are_whole_at_first_and_folded_once_read(browser_of, mechanic, job):
    browser = browser_of(mechanic)
    assert '<section class="cautions"' in page_of(browser, job)
    assert read(browser, job).status_code == 302
    page = page_of(browser, job)
    assert '<section class="cautions"' not in page
    assert "Cautions: Turning the engine, Battery, Exhaust gas, Hot parts, Old materials" in page
    assert CAUTIONS_OF[Stage.INSPECTION][2].text in page  # inside, at a tap


def test_another_person_reads_them_anew(browser_of, mechanic, second_mechanic, job):
    read(browser_of(mechanic), job)
    assert '<section class="cautions"' in page_of(browser_of(second_mechanic), job)


def test_another_job_wants_them_read_anew(browser_of, mechanic, job):
    read(browser_of(mechanic), job)
    assert '<section class="cautions"' in page_of(browser_of(mechanic), JobFactory(stage="inspection"))


def test_tomorrow_they_are_whole_again(browser_of, mechanic, job):
    read(browser_of(mechanic), job)
    CautionRead.objects.update(day=timezone.localdate() - timedelta(days=1))
    assert '<section class="cautions"' in page_of(browser_of(mechanic), job)


def test_one_caution_that_was_not_read_leaves_all_of_them_whole(browser_of, mechanic, job):
    read(browser_of(mechanic), job)
    fitting = browser_of(mechanic).get(reverse("fitting:page", args=[job.code])).content.decode()
    assert '<section class="cautions"' in fitting  # high voltage and fuel vapour stand there too


def test_a_double_tap_reads_them_once(browser_of, mechanic, job):
    for _ in range(2):
        read(browser_of(mechanic), job)
    assert CautionRead.objects.count() == len(CAUTIONS_OF[Stage.INSPECTION])


def test_words_that_are_no_caution_are_not_kept(browser_of, mechanic, job):
    browser_of(mechanic).post(reverse("board:cautions-read", args=[job.code]), {"caution": ["Anything", "\x00"]})
    assert not CautionRead.objects.exists()


@pytest.mark.parametrize("next_page", ["https://elsewhere.example/", "//elsewhere.example/", "javascript:alert(1)"])
def test_it_leads_nowhere_outside(browser_of, mechanic, job, next_page):
    assert read(browser_of(mechanic), job, next=next_page).url == reverse("board:job", args=[job.code])


@pytest.mark.parametrize("page", ["board:job", "board:journal", "board:edit"])
def test_where_no_work_is_done_there_are_none(browser_of, owner, job, page):
    assert 'class="cautions' not in browser_of(owner).get(reverse(page, args=[job.code])).content.decode()
