"""A watchdog hears apart whether the process lives and whether it can do its work."""

import pytest
from django.db import DatabaseError

from garage.watching import health

SOUND = {"database": True, "files": True, "migrations": True, "disk": True}


@pytest.fixture(autouse=True)
def _asked_anew(monkeypatch):
    monkeypatch.setattr(health, "_tables_fit", False)


def test_a_workshop_that_works_is_ready(client, db):
    answer = client.get("/health/ready/")
    assert (answer.status_code, answer.json()) == (200, SOUND)


@pytest.mark.parametrize(
    ("asked", "fails"),
    [("database_is_whole", "database"), ("files_answer", "files"), ("tables_fit", "migrations"), ("_has_room", "disk")],
)
def test_what_keeps_it_from_its_work_is_named(client, db, monkeypatch, asked, fails):
    monkeypatch.setattr(health, asked, lambda: False)
    answer = client.get("/health/ready/")
    assert (answer.status_code, answer.json()) == (503, SOUND | {fails: False})


def test_the_process_lives_without_its_database(client):
    # No mark for the database: a query would fail this test.
    assert client.get("/health/live/").json() == {"live": True}


def test_tables_of_an_older_release_are_not_ready(monkeypatch, db):
    monkeypatch.setattr(health.MigrationExecutor, "migration_plan", lambda executor, targets: ["a step"])
    assert health.tables_fit() is False


def test_a_database_that_does_not_answer_is_not_ready(monkeypatch, db):
    def away(executor, targets):
        raise DatabaseError

    monkeypatch.setattr(health.MigrationExecutor, "migration_plan", away)
    assert health.tables_fit() is False
