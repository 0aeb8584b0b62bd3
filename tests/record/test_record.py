"""The database itself keeps the record."""

import pytest
from django.apps import apps
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from garage.record.facts import RecordedFact
from garage.record.models import TrailEntry
from garage.record.triggers import KeepForEver, trigger_name
from jobs.job import journal
from tests.factories import JobFactory


@pytest.fixture
def line(actor, db) -> TrailEntry:
    return journal.write(JobFactory(), "noted", "The choke cable is frayed", actor=actor)


def test_a_journal_line_cannot_be_rewritten(line):
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        TrailEntry.objects.filter(pk=line.pk).update(sentence="The choke cable is sound")


def test_a_journal_line_cannot_be_removed(line):
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        line.delete()
    assert TrailEntry.objects.filter(pk=line.pk).exists()


def test_every_table_of_facts_is_guarded_by_the_database(db):
    facts = [model for model in apps.get_models() if issubclass(model, RecordedFact)]
    assert facts
    unguarded = [model.__name__ for model in facts if not _has_trigger(model._meta.db_table)]
    assert unguarded == []


def test_what_a_migration_once_put_under_guard_is_still_guarded_after_the_last_one(db):
    """SQLite forgets a table's triggers when a later migration rebuilds it."""
    from django.db.migrations.loader import MigrationLoader

    migrations = MigrationLoader(connection).disk_migrations.values()
    guarded = {
        operation.table
        for migration in migrations
        for operation in migration.operations
        if type(operation) is KeepForEver
    }
    assert "jobs_strobesitting" in guarded
    assert [table for table in sorted(guarded) if not _has_trigger(table)] == []


def _has_trigger(table: str) -> bool:
    name = trigger_name(table, "UPDATE")
    catalogue, column = ("sqlite_master", "name") if connection.vendor == "sqlite" else ("pg_trigger", "tgname")
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT count(*) FROM {catalogue} WHERE {column} = %s", [name])
        return cursor.fetchone()[0] == 1


def test_a_draft_map_may_still_change_but_a_released_one_never(actor, db):
    from tests.jobs_factories import MapVersionFactory

    draft = MapVersionFactory()
    type(draft).objects.filter(pk=draft.pk).update(base_deg=9)
    type(draft).objects.filter(pk=draft.pk).update(
        released_at=timezone.now(), released_by=actor.person, content_hash="0" * 64
    )
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        type(draft).objects.filter(pk=draft.pk).update(base_deg=10)
