"""`manage.py check_record` finds each kind of damage that the record can take, and says which."""

import io
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from garage.record.triggers import OPERATIONS, trigger_name
from jobs.checklists.models import Photograph
from jobs.maps.models import MapVersion
from tests.checklists.factories import sheet_with, signed_by
from tests.checklists.test_photographs import LOOM, photograph, prepared, record_photograph, uuid
from tests.jobs_factories import MapVersionFactory


def checked():
    out = io.StringIO()
    try:
        call_command("check_record", stdout=out)
    except CommandError as problem:
        return f"{out.getvalue()}{problem}"
    return out.getvalue()


@pytest.fixture
def picture(mechanic):
    return record_photograph(
        sheet=sheet_with([LOOM], person=mechanic), key="loom", id=uuid.uuid4(), entry_id=uuid.uuid4(),
        actor=signed_by(mechanic), picture=prepared(io.BytesIO(photograph())),
    )  # fmt: skip


def test_a_sound_record_is_said_to_be_sound(picture):
    assert checked() == "The record is sound.\n"


@pytest.mark.parametrize("content", [b"", b"another picture"])
def test_a_photograph_whose_bytes_changed_is_named(picture, content):
    Path(picture.file.path).write_bytes(content)
    assert f"{Path(picture.file.name).name} is not as it was saved." in checked()


def test_a_photograph_that_is_gone_is_named_and_so_is_its_small_one(picture):
    for file in (picture.file, picture.thumbnail):
        Path(file.path).unlink()
    said = checked()
    assert f"{Path(picture.file.name).name} is missing." in said
    assert f"{Path(picture.thumbnail.name).name} is missing." in said


def test_a_file_that_no_record_names_is_no_damage(picture):
    default_storage.save("photographs/left-over.jpg", ContentFile(b"x"))
    assert checked() == "The record is sound.\n"


@pytest.mark.parametrize("action", OPERATIONS)
def test_a_guard_that_is_gone_is_named(db, action):
    table = Photograph._meta.db_table
    on_table = f" ON {table}" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER {trigger_name(table, action)}{on_table}")
    assert f"The record of {table} is not guarded against {action}" in checked()


def test_a_released_map_that_was_changed_is_named(actor, db):
    version = MapVersionFactory()
    MapVersion.objects.filter(pk=version.pk).update(
        released_at=timezone.now(), released_by=actor.person, content_hash="0" * 64
    )
    assert f"Map version {version.number} of job {version.job.code} is not as it was released." in checked()


def test_what_to_do_is_said_with_it(picture):
    Path(picture.file.path).unlink()
    assert "manage.py backup --list" in checked()
