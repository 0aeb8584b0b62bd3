"""What the tests of the backups stand on: a server of their own, with the tables of this release in one database."""

import os

import pytest

from tests.backup import postgres_server
from tests.backup.book import managed


@pytest.fixture(scope="session")
def server():
    if not postgres_server.IS_HERE:
        if os.environ.get("CI"):
            pytest.fail("PostgreSQL is not installed")
        pytest.skip("PostgreSQL is not installed")
    with postgres_server.running() as running:
        yield running


@pytest.fixture(scope="session")
def tables(server, tmp_path_factory):
    """A database with the tables of this release and nobody in it, to be copied."""
    database = postgres_server.new_database(server, "tables")
    done = managed(tmp_path_factory.mktemp("tables"), "migrate", "-v0", DATABASE_URL=postgres_server.url_of(database))
    assert done.returncode == 0, done.stderr
    return database
