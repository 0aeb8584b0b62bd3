"""'Save and go to …': on where the saving leaves nothing missing, and never past what is."""

import uuid

import pytest
from django.urls import reverse

from jobs.job.models import Job
from tests.factories import JobFactory
from tests.pages import text_of
from tests.strobe.test_strobe import read, sit

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    return JobFactory(stage="base-timing")


def proven(job, actor, measured=8):
    session = sit(job, actor)
    for rpm in (900, 900, 2000, 2000):
        read(session, actor, rpm, measured)
    return session


def save_clamp(client, job, **more):
    form = {"clamp-id": uuid.uuid4(), "clamp-change_deg": "0", "clamp-mark_painted": "on", **more}
    return client.post(reverse("strobe:record-clamp", args=[job.code]), form)


def test_it_goes_on_where_nothing_is_missing(browser_of, mechanic, job, actor):
    session = proven(job, actor)
    client = browser_of(mechanic)
    assert "Save and go to map" in text_of(client.get(reverse("strobe:session", args=[job.code, session.pk])))
    save_clamp(client, job, go="1")
    assert Job.objects.get().stage == "map"


def test_the_plain_saving_stays(browser_of, mechanic, job, actor):
    proven(job, actor)
    answer = save_clamp(browser_of(mechanic), job)
    assert answer.url == reverse("strobe:page", args=[job.code]) + "#clamp"
    assert Job.objects.get().stage == "base-timing"


def test_what_is_missing_besides_keeps_the_car_and_the_button_away(browser_of, mechanic, job, actor):
    proven(job, actor, measured=5)  # 3 degrees late
    client = browser_of(mechanic)
    assert "Save and go to map" not in text_of(client.get(reverse("strobe:page", args=[job.code])))
    save_clamp(client, job, go="1")
    assert Job.objects.get().stage == "base-timing"


def test_a_clamp_that_shifted_keeps_the_car(browser_of, mechanic, job, actor):
    proven(job, actor)
    answer = save_clamp(browser_of(mechanic), job, go="1", **{"clamp-change_deg": "6"})
    assert answer.url.endswith("#clamp")
    assert Job.objects.get().stage == "base-timing"


def test_a_job_on_hold_stays_where_it_is(browser_of, mechanic, job, actor):
    proven(job, actor)
    Job.objects.update(state="on hold", state_reason="no coil")
    answer = save_clamp(browser_of(mechanic), job, go="1")
    assert answer.url.endswith("#clamp")
    assert Job.objects.get().stage == "base-timing"
