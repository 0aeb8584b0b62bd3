"""The one way past the guards of the record, and that it is no hole."""

import pytest
from django.apps import apps
from django.db import IntegrityError, connection, connections, models, transaction
from django.db.migrations.loader import MigrationLoader

from garage.record.erasing import erasing
from garage.record.models import OpenErasing, TrailEntry
from garage.record.triggers import KeepForEver
from jobs.job import journal
from jobs.models import SweepReading
from tests.factories import JobFactory, fact_of


@pytest.fixture
def line(actor, db) -> TrailEntry:
    return journal.write(JobFactory(), "noted", "Mira Holt rang", actor=actor)


def refused(change):
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        change()


def test_words_may_go_while_a_person_is_erased(line):
    with transaction.atomic(), erasing():
        TrailEntry.objects.filter(pk=line.pk).update(sentence="[erased] rang")
    line.refresh_from_db()
    assert line.sentence == "[erased] rang"


def test_before_and_afterwards_they_may_not(line):
    refused(lambda: TrailEntry.objects.update(sentence="x"))
    with transaction.atomic(), erasing():
        pass
    assert not OpenErasing.objects.exists()
    refused(lambda: TrailEntry.objects.update(sentence="x"))


@pytest.mark.parametrize("change", [{"event": "made"}, {"subject_id": 9}, {"sentence": "x", "stage": "map"}])
def test_who_what_and_when_do_not_change_even_then(line, change):
    with transaction.atomic(), erasing():
        refused(lambda: TrailEntry.objects.filter(pk=line.pk).update(**change))


def test_nothing_is_deleted_even_then(line):
    with transaction.atomic(), erasing():
        refused(lambda: TrailEntry.objects.filter(pk=line.pk).delete())


def test_a_measured_figure_does_not_change_even_then(actor, db):
    made = SweepReading.objects.create(
        **fact_of(actor), job=JobFactory(), rpm=1000, measured_deg=12, direction="rising"
    )
    with transaction.atomic(), erasing():
        refused(lambda: SweepReading.objects.filter(pk=made.pk).update(measured_deg=13))


def test_without_a_transaction_nothing_is_opened(transactional_db):
    with pytest.raises(RuntimeError, match="part of a transaction"), erasing():
        pass


def test_after_a_failure_the_guard_is_shut(line):
    with pytest.raises(ZeroDivisionError), transaction.atomic(), erasing():
        raise ZeroDivisionError
    assert not OpenErasing.objects.exists()
    refused(lambda: TrailEntry.objects.update(sentence="x"))


@pytest.mark.parametrize("row", [{"pk": 1, "never_there_id": 1}, {"pk": 2, "never_there_id": 2}])
def test_no_row_that_could_stay_is_taken(db, row):
    with pytest.raises(IntegrityError), transaction.atomic():
        OpenErasing.objects.create(**row)


@pytest.mark.django_db(transaction=True)
def test_the_open_guard_cannot_be_committed():
    with pytest.raises(IntegrityError), transaction.atomic():
        OpenErasing.objects.create(pk=1, never_there_id=2)
    assert not OpenErasing.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_from_another_connection_the_guard_is_shut_meanwhile(workshop, mechanic):
    """Seen by reading only: on SQLite nobody else writes before the transaction has ended."""
    other = connections.create_connection("default")
    try:
        with transaction.atomic(), erasing():
            with other.cursor() as cursor:
                cursor.execute("SELECT count(*) FROM garage_openerasing")
                assert cursor.fetchone() == (0,)
            assert OpenErasing.objects.count() == 1
    finally:
        other.close()


@pytest.mark.django_db(transaction=True)
def test_from_another_connection_words_do_not_change_meanwhile(actor):
    if connection.vendor != "postgresql":
        pytest.skip("SQLite lets one connection write at a time")
    line = journal.write(JobFactory(), "noted", "rang", actor=actor)
    other = connections.create_connection("default")
    try:
        with (
            transaction.atomic(),
            erasing(),
            other.cursor() as cursor,
            pytest.raises(IntegrityError, match="kept for ever"),
        ):
            cursor.execute("UPDATE garage_change SET sentence = 'x' WHERE id = %s", [line.pk])
    finally:
        other.close()


def test_every_column_of_free_words_in_the_record_is_erasable_and_no_other(db):
    """A column of words that is added later and guarded without saying so would keep a name for ever."""
    last = {
        operation.table: set(operation.erasable)
        for migration in sorted(MigrationLoader(connection).disk_migrations.items())
        for operation in migration[1].operations
        if type(operation) is KeepForEver
    }
    # Lists, unit types and limits are the workshop's own words; the rest are names of things, seals and units.
    of_the_workshop = {"garage_unittyperevision", "jobs_checklistitem", "jobs_templaterevision"}
    no_words = {
        "event", "subject_kind", "stage", "kind", "sha256", "content_hash", "unit", "entered_unit", "vacuum_unit",
        "boost_unit", "curve", "vacuum_table", "boost", "delivered", "trigger", "lamp", "shown", "mismatches",
        "gone", "chosen", "choice", "read_again", "number", "currency",
        "basis",
    }  # fmt: skip
    for model in apps.get_models():
        table = model._meta.db_table
        if table not in last or table in of_the_workshop:
            continue
        words = {
            field.column for field in model._meta.local_concrete_fields
            if isinstance(field, models.TextField | models.CharField | models.JSONField | models.FileField)
            and not field.choices
        }  # fmt: skip
        assert words - no_words - last[table] <= ({"reason"} if table == "jobs_erasure" else set()), table
        assert last[table] <= words, table
