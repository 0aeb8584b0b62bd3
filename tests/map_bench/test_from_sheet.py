"""A map taken over from a sheet: another workshop's, or our own when a unit has failed."""

import uuid

import pytest
from django.urls import reverse

from jobs.models import MapVersion
from tests.jobs_factories import FittedUnitFactory, JobFactory, proven_version
from tests.pages import FILL_IN, text_of
from timing.map_text import map_to_text

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    return JobFactory(unit=FittedUnitFactory(), stage="map")


@pytest.fixture
def sheet(actor):
    """The code of a car of another workshop."""
    version = proven_version(actor)
    labels = {"CAR": "QZ 88 G", "JOB": "19-0042", "VERSION": "4", "UNIT": "Other Nine"}
    return version.ignition_map(), map_to_text(version.ignition_map(), labels)


def sent(client, job, text, **more):
    data = {"text": text, "reason": "Unit restored", "idempotency_key": uuid.uuid4(), **more}
    return client.post(reverse("bench:from-sheet", args=[job.code]), data)


def test_the_code_is_read_and_shown_with_what_differs_and_nothing_is_done_yet(browser_of, mechanic, job, sheet):
    answer = sent(browser_of(mechanic), job, sheet[1])
    shown = text_of(answer)
    assert answer.status_code == 200
    assert f"The sheet is of QZ 88 G, this car is {job.vehicle.registration}." in shown
    assert "The sheet is for a OTHER NINE" in shown
    assert not MapVersion.objects.filter(job=job).exists()


def test_it_becomes_a_draft_with_the_same_identity_whose_origin_names_the_sheet(browser_of, mechanic, job, sheet):
    taken, text = sheet
    answer = sent(browser_of(mechanic), job, text.lower(), start="")
    draft = MapVersion.objects.get(job=job)
    assert answer.url == reverse("bench:version", args=[job.code, draft.number])
    assert draft.ignition_map().content_hash() == taken.content_hash()
    assert draft.released_at is None
    checksum = text.rsplit(" ", 1)[1]
    assert draft.origin == f"a sheet of car QZ 88 G, job 19-0042, version 4, checksum {checksum}"


def test_a_press_sent_twice_starts_one_version(browser_of, mechanic, job, sheet):
    key = uuid.uuid4()
    for _ in range(2):
        sent(browser_of(mechanic), job, sheet[1], start="", idempotency_key=key)
    assert MapVersion.objects.filter(job=job).count() == 1


def test_the_map_in_the_car_is_held_against_the_sheet(browser_of, mechanic, actor):
    version = proven_version(actor)
    plate = version.job.vehicle.registration
    shown = text_of(sent(browser_of(mechanic), version.job, map_to_text(version.ignition_map(), {"CAR": plate})))
    assert f"Against version {version.number}, now in the car: nothing changed." in shown
    assert "The sheet is of" not in shown


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda text: "https://a.workshop.example", "This is not the text of an ignition map."),
        (lambda text: text[:-20], "The text is cut off"),
        (lambda text: text.replace("RPM", "RPN", 1), "its checksum does not agree"),
        (lambda text: text.replace("MAP 1", "MAP 9", 1), "this program reads edition 1"),
    ],
)
def test_what_is_no_sound_code_is_refused_beside_the_box_and_nothing_is_done(
    browser_of, mechanic, job, sheet, change, said
):
    answer = sent(browser_of(mechanic), job, change(sheet[1]), start="")
    assert answer.status_code == 422
    assert said in text_of(answer)
    assert not MapVersion.objects.filter(job=job).exists()


def test_a_reason_is_asked_for_before_a_version_starts(browser_of, mechanic, job, sheet):
    answer = sent(browser_of(mechanic), job, sheet[1], start="", reason="")
    assert answer.status_code == 422
    assert FILL_IN in text_of(answer)


def test_without_a_unit_the_unit_is_asked_for_first(browser_of, mechanic):
    job = JobFactory(unit=None)
    answer = browser_of(mechanic).get(reverse("bench:from-sheet", args=[job.code]))
    assert answer.url == reverse("board:unit", args=[job.code])
