"""An erasing that ended between the book and the disk is brought to its end by itself."""

from datetime import UTC, datetime

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django_tasks_db.models import DBTaskResult

from jobs.models import FileToRemove
from jobs.privacy.tasks import put_in_what_was_cut_off, rest_of_an_erasing

IN_THE_NIGHT = datetime(2026, 3, 5, 2, 30, tzinfo=UTC)


def test_a_file_that_is_left_is_put_in_once_an_hour(db):
    FileToRemove.objects.create(name="photographs/left.jpg")
    for minute in (0, 20, 40):
        put_in_what_was_cut_off(IN_THE_NIGHT.replace(minute=minute))
    assert DBTaskResult.objects.count() == 1
    put_in_what_was_cut_off(IN_THE_NIGHT.replace(hour=3))
    assert DBTaskResult.objects.count() == 2


def test_nothing_is_put_in_where_nothing_is_left(db):
    put_in_what_was_cut_off(IN_THE_NIGHT)
    assert not DBTaskResult.objects.exists()


def test_the_file_is_off_the_disk_afterwards(db):
    name = default_storage.save("photographs/left.jpg", ContentFile(b"a face"))
    FileToRemove.objects.create(name=name)
    rest_of_an_erasing.call(hour="2026-03-05 02:00")
    assert not default_storage.exists(name)
    assert not FileToRemove.objects.exists()
