"""A book in PostgreSQL is backed up, proven and restored by the server's own programs.

PostgreSQL 15 manual, `pg_dump`: a dump is readable by `pg_restore` of its own and later releases, and one of an
earlier release than the server is refused; `pg_export_snapshot`: two connections that see the same moment.
"""

import json
import stat
import subprocess
import tarfile
from pathlib import Path

import pytest

from garage.backup import archive, postgres_tools, restoring, unfinished
from garage.backup.archive import Source
from garage.backup.errors import BackupError
from garage.backup.soundness import unsound
from garage.files.kept import files_in
from tests.backup.book import managed
from tests.backup.postgres_server import asked, new_database, url_of
from tests.backup.test_archive import AT

GROUP = "INSERT INTO auth_group (name) VALUES ('{}')"


@pytest.fixture
def book(server, tables):
    return new_database(server, "book", like=tables.name)


@pytest.fixture
def empty(server):
    return new_database(server, "empty")


@pytest.fixture
def source(book, tmp_path):
    (tmp_path / "data" / "files" / "documents").mkdir(parents=True)
    (tmp_path / "data" / "files" / "documents" / "label.pdf").write_bytes(b"a paper")
    return Source(tmp_path / "data", book, lambda: files_in(tmp_path / "data" / "files"), "1.0")


@pytest.fixture
def shelf(tmp_path):
    (tmp_path / "shelf").mkdir()
    return tmp_path / "shelf"


def databases(server):
    return {name for (name,) in asked(server, "SELECT datname FROM pg_database")}


def test_the_archive_holds_what_pg_restore_reads_and_what_each_table_had(source, shelf, book, tmp_path):
    asked(book, GROUP.format("Apprentice"))
    made = archive.make(source, shelf, at=AT)
    with tarfile.open(made) as tar:
        assert tar.getnames() == ["crankmark.pgdump", "files/documents/label.pdf", "manifest.json"]
        manifest = json.load(tar.extractfile("manifest.json"))
        tar.extract("crankmark.pgdump", tmp_path, filter="data")
    assert manifest["rows"]["auth_group"] == 4
    listed = subprocess.run(["pg_restore", "--list", tmp_path / "crankmark.pgdump"], capture_output=True, text=True)
    assert "TABLE DATA public auth_group" in listed.stdout


def test_a_proof_restores_into_a_database_that_is_gone_afterwards(source, shelf, book, server):
    before = databases(server)
    made = archive.make(source, shelf, at=AT)
    assert restoring.prove(made, check=unsound, database=book).files == 2
    assert databases(server) == before


def test_a_user_who_may_not_make_a_database_is_told_which_right_is_missing(source, shelf, book, server):
    asked(server, "DROP ROLE IF EXISTS apprentice")
    asked(server, "CREATE ROLE apprentice LOGIN")
    made = archive.make(source, shelf, at=AT)
    apprentice = type(book)(book.name, host=book.host, user="apprentice")
    with pytest.raises(BackupError, match="the right CREATEDB"):
        restoring.prove(made, check=unsound, database=apprentice)


def test_a_row_that_the_dump_lacks_is_found_by_the_proof(source, shelf, book, monkeypatch):
    """The sums are taken of the server's rows, not of the dump: a dump of another moment does not pass for it."""
    made = archive.make(source, shelf, at=AT)
    real = restoring.counted
    monkeypatch.setattr(restoring, "counted", lambda server: real(server) | {"sums": {"auth_group": "7"}})
    with pytest.raises(BackupError, match="is not what was copied"):
        restoring.prove(made, check=unsound, database=book)


def test_a_backup_made_while_people_write_has_the_rows_of_one_moment(source, shelf, book):
    asked(book, "CREATE TABLE readings (id bigserial PRIMARY KEY, measured_deg double precision)")
    writing = subprocess.Popen(
        ["psql", "-q", "-h", book.host, "-U", book.user, book.name], stdin=subprocess.PIPE, text=True
    )
    writing.stdin.write("BEGIN; INSERT INTO readings (measured_deg) VALUES (1), (2); COMMIT;\n" * 20000)
    writing.stdin.close()
    try:
        made = [archive.make(source, shelf, at=AT.replace(second=n)) for n in range(2)]
    finally:
        writing.kill()
        writing.wait()
    for one in made:
        restoring.prove(one, check=unsound, database=book)
        with tarfile.open(one) as tar:
            assert json.load(tar.extractfile("manifest.json"))["rows"]["readings"] % 2 == 0


def test_a_book_comes_back_into_an_empty_database(source, shelf, book, empty, tmp_path):
    asked(book, GROUP.format("Apprentice"))
    made = archive.make(source, shelf, at=AT)
    restoring.restore(made, tmp_path / "new", check=unsound, database=empty)
    assert ("Apprentice",) in asked(empty, "SELECT name FROM auth_group")
    assert {file.name for file in (tmp_path / "new").rglob("*") if file.is_file()} == {"label.pdf"}
    assert not unfinished.is_marked(empty)


def test_nothing_is_restored_over_a_database_in_use(source, shelf, book, tmp_path):
    made = archive.make(source, shelf, at=AT)
    before = asked(book, "SELECT * FROM auth_group")
    with pytest.raises(BackupError, match="is not empty"):
        restoring.restore(made, tmp_path / "new", check=unsound, database=book)
    assert asked(book, "SELECT * FROM auth_group") == before
    assert not (tmp_path / "new").exists()


def test_a_restore_that_fails_leaves_the_database_empty(source, shelf, empty, tmp_path):
    made = archive.make(source, shelf, at=AT)
    with pytest.raises(BackupError, match="is not sound"):
        restoring.restore(made, tmp_path / "new", check=lambda book: ["A page is torn."], database=empty)
    assert asked(empty, "SELECT tablename FROM pg_tables WHERE schemaname = 'public'") == []
    assert not (tmp_path / "new").exists()


def test_a_book_of_postgresql_without_a_database_to_put_it_in_is_refused(source, shelf, tmp_path):
    made = archive.make(source, shelf, at=AT)
    with pytest.raises(BackupError, match="Name an empty database"):
        restoring.restore(made, tmp_path / "new", check=unsound)
    assert not (tmp_path / "new").exists()


def program(folder: Path, says: str) -> Path:
    folder.mkdir()
    (folder / "pg_dump").write_text(f"#!/bin/sh\necho '{says}'\n")
    (folder / "pg_dump").chmod(stat.S_IRWXU)
    return folder


@pytest.mark.parametrize(
    ("says", "word"),
    [
        (None, "pg_dump is not on this machine. Install the client programs"),
        ("pg_dump (PostgreSQL) 9.6.24", "is of PostgreSQL 9, and the server of PostgreSQL"),
    ],
)
def test_a_pg_dump_that_is_missing_or_older_than_the_server_is_said(source, shelf, tmp_path, monkeypatch, says, word):
    monkeypatch.setattr(postgres_tools, "PLACES", ())
    monkeypatch.setenv("PATH", str(program(tmp_path / "bin", says) if says else tmp_path))
    with pytest.raises(BackupError, match=f"{word}.*Nothing was written") as problem:
        archive.make(source, shelf, at=AT)
    assert "\n" not in str(problem.value)
    assert list(shelf.iterdir()) == []


def test_of_several_programs_that_of_the_server_s_release_is_taken(tmp_path, monkeypatch):
    for release in (14, 15, 17):
        program(tmp_path / str(release), f"pg_dump (PostgreSQL) {release}.3")
    monkeypatch.setattr(postgres_tools, "PLACES", (f"{tmp_path}/*",))
    monkeypatch.setenv("PATH", str(tmp_path))
    assert [postgres_tools.program_for("pg_dump", server).release for server in (14, 15, 16)] == [14, 15, 17]


def test_a_server_that_is_away_is_said(source, shelf, book, tmp_path):
    away = type(book)("book", host=str(tmp_path), user="crankmark")
    with pytest.raises(BackupError, match="cannot be reached"):
        archive.make(Source(source.folder, away, source.files, "1.0"), shelf, at=AT)


def test_a_workshop_on_postgresql_is_backed_up_checked_and_restored_by_its_commands(book, empty, tmp_path, shelf):
    data, new = tmp_path / "workshop", tmp_path / "new"
    made = managed(data, "backup", "--to", str(shelf), DATABASE_URL=url_of(book))
    assert made.returncode == 0, made.stderr
    assert "is made, restored for a test, and sound.\nThe record is sound." in made.stdout
    back = managed(data, "restore", str(next(shelf.glob("*.tar"))), "--to", str(new), "--database", url_of(empty))
    assert back.returncode == 0, back.stderr
    assert managed(new, "migrate", "--check", DATABASE_URL=url_of(empty)).returncode == 0


def test_a_reference_that_leads_nowhere_is_named(book, tmp_path):
    """As after a repair with the server's triggers switched off."""
    asked(
        book,
        "SET session_replication_role = replica; "
        "INSERT INTO auth_group_permissions (group_id, permission_id) VALUES (99999, 1)",
    )
    said = managed(tmp_path / "workshop", "check_record", DATABASE_URL=url_of(book))
    assert "A row of auth_group_permissions points to one that is not in auth_group." in said.stdout
    assert said.returncode == 1
