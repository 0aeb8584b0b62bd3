"""Photographs of a car as it was booked in: taken as the sheet takes them, kept with the job."""

import io
import uuid

import pytest
from django.core.files.storage import default_storage
from django.db import IntegrityError, transaction
from django.urls import reverse

from garage.files.storage import DurableStorage, StorageFullError
from jobs.booking.models import BookingPhotograph
from jobs.checklists.photographs import NOT_READABLE
from jobs.documents.document_data import document_data
from jobs.models import Job
from jobs.privacy.held import held_about, photographs_of
from tests.checklists.factories import photograph
from tests.factories import JobFactory, VehicleFactory
from tests.pages import text_of


@pytest.fixture
def desk(browser_of, front_desk):
    return browser_of(front_desk)


def picture(width: int = 640, content: bytes | None = None):
    file = io.BytesIO(photograph(width=width) if content is None else content)
    file.name = "IMG_0001.jpg"
    return file


def booked(client, *pictures, camera=None, key=None, **typed):
    form = {
        "idempotency_key": key or uuid.uuid4(), "registration": "KLM 204 B", "maker": "Alder", "model": "1500",
        "phone": "0171 555 0100", "kind": "conversion", "wanted": "Fit the unit", "photographs": list(pictures),
    }  # fmt: skip
    return client.post(reverse("board:book"), form | ({"camera": camera} if camera else {}) | typed)


def test_a_car_is_booked_with_several_photographs_and_its_job_shows_them(desk):
    answer = booked(desk, picture(640), picture(320), camera=picture(480))
    job = Job.objects.get()
    assert job.photographs.count() == 3
    page = desk.get(answer.url).content.decode()
    for one in job.photographs.all():
        assert reverse("booking:photograph-small", args=[one.pk]) in page
        assert desk.get(reverse("booking:photograph", args=[one.pk]))["Content-Type"] == "image/jpeg"
    assert job.journal.get(event="booking-photograph").text == "3 photographs added to the booking"


def test_a_double_tap_books_once_and_keeps_each_photograph_once(desk):
    key = uuid.uuid4()
    for _ in range(2):
        booked(desk, picture(640), picture(320), key=key)
    assert (Job.objects.count(), BookingPhotograph.objects.count()) == (1, 2)


def test_what_is_no_photograph_is_refused_and_nothing_is_booked(desk):
    answer = booked(desk, picture(), picture(content=b"<svg onload='x()'/>"))
    assert answer.status_code == 422
    assert NOT_READABLE in text_of(answer)
    assert "Fit the unit" in answer.content.decode()
    assert not Job.objects.exists()


def test_more_than_a_dozen_at_once_are_refused(desk):
    answer = booked(desk, *(picture(320) for _ in range(13)))
    assert "At most 12 photographs at once." in text_of(answer)
    assert not Job.objects.exists()


def test_more_are_added_when_the_car_has_come(desk):
    job = JobFactory(vehicle=VehicleFactory())
    form = {"row_version": "1", "wanted": "Fit the unit", "odometer_unit": "miles", "photographs": [picture()]}
    assert desk.post(reverse("board:edit", args=[job.code]), form).status_code == 302
    assert job.photographs.count() == 1


def test_on_a_full_disk_nothing_is_booked(desk, monkeypatch):
    """Half a booking would be booked again, under another number."""

    def full(*_, **__):
        raise StorageFullError("The disk is full. Nothing was saved. Tell the owner.")

    monkeypatch.setattr(DurableStorage, "_save", full)
    answer = booked(desk, picture())
    assert "Nothing was saved" in text_of(answer)
    assert not Job.objects.exists()


def test_a_photograph_that_changed_on_the_disk_is_not_shown(desk):
    booked(desk, picture())
    one = BookingPhotograph.objects.get()
    with open(default_storage.path(one.file.name), "r+b") as file:
        file.seek(100)
        file.write(b"\0\0\0\0")
    answer = desk.get(reverse("booking:photograph", args=[one.pk]))
    assert answer.status_code == 404
    assert "This photograph is not as it was saved." in text_of(answer)


def test_the_database_keeps_a_photograph_for_ever(desk):
    booked(desk, picture())
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        BookingPhotograph.objects.update(width=1)


def test_the_bench_record_says_how_many_there_are(desk, actor):
    booked(desk, picture(640), picture(320))
    assert document_data(Job.objects.get(), None, actor.at)["job"]["photographs"] == 2


def test_the_customer_s_copy_has_them_and_erasing_takes_those_that_were_chosen(
    desk, browser_of, owner, django_capture_on_commit_callbacks
):
    booked(desk, picture(640), picture(320))
    customer = Job.objects.get().vehicle.customer
    goes, stays = BookingPhotograph.objects.all()
    assert [one["of"] for one in held_about(customer)["photographs"]] == ["At booking", "At booking"]
    with django_capture_on_commit_callbacks(execute=True):
        browser_of(owner).post(
            reverse("privacy:forget", args=[customer.pk]),
            {
                "idempotency_key": uuid.uuid4(), "reason": "asked for it", "password": "a long workshop password",
                "photographs": [str(goes.pk)],
            },
        )  # fmt: skip
    assert [one.row.pk for one in photographs_of(customer)] == [stays.pk]
    assert not default_storage.exists(goes.file.name)
    assert default_storage.exists(stays.file.name)
