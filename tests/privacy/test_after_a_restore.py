"""Who was erased after a backup was made is erased again when that backup is restored."""

import uuid
from datetime import timedelta

from django.core.management import call_command

from garage.backup.erased import NAME, erased_since
from jobs.models import Erasure
from jobs.privacy.actions import forget


def test_the_list_beside_the_backups_has_the_number_and_the_choices_and_no_name(
    customer, actor, settings, tmp_path, django_capture_on_commit_callbacks
):
    settings.BACKUP_FOLDER = tmp_path
    with django_capture_on_commit_callbacks(execute=True):
        forget(customer=customer, reason="asked", photographs=[], plates=True, words=["Quill"],
               idempotency_key=uuid.uuid4(), actor=actor)  # fmt: skip
    found = erased_since(tmp_path, actor.at - timedelta(days=1))
    assert [(row["customer"], row["plates"]) for row in found] == [(customer.pk, True)]
    assert erased_since(tmp_path, actor.at) == []
    assert "Abernethy" not in (tmp_path / NAME).read_text()
    assert "Quill" not in (tmp_path / NAME).read_text()


def test_they_are_erased_again_once(customer, actor, tmp_path, settings):
    settings.BACKUP_FOLDER = None
    (tmp_path / NAME).write_text(
        f'{{"customer": {customer.pk}, "at": "2026-01-01T00:00:00+00:00", "plates": false, "photographs": []}}\n'
    )
    for _ in range(2):
        call_command("erase_again", str(tmp_path / NAME))
    assert Erasure.objects.count() == 1
    customer.refresh_from_db()
    assert customer.forgotten_at
