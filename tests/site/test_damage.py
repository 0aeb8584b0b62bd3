"""A book that is gone or broken is said, at the start and by the health page, and never taken for a new workshop.

SQLite, 'Database File Format': page 1 holds the header, every further page a part of a table or index.
"""

import sqlite3

import pytest

from garage.site import damage
from garage.site.damage import refuse_a_damaged_book
from garage.site.data_folder import DataFolderError


@pytest.fixture
def book(tmp_path):
    """A database of a few pages and a folder with a photograph."""
    database, files = tmp_path / "crankmark.sqlite3", tmp_path / "files"
    with sqlite3.connect(database) as opened:
        opened.execute("CREATE TABLE readings (words TEXT)")
        opened.executemany("INSERT INTO readings VALUES (?)", [("32.5 degrees " * 50,)] * 200)
    opened.close()
    (files / "photographs").mkdir(parents=True)
    (files / "photographs" / "loom.jpg").write_bytes(b"a picture")
    return database, files


def test_a_whole_book_opens(book):
    refuse_a_damaged_book(*book)


def test_an_empty_folder_is_a_new_workshop(tmp_path):
    refuse_a_damaged_book(tmp_path / "crankmark.sqlite3", tmp_path / "files")


def test_a_missing_database_beside_photographs_is_no_new_workshop(book):
    database, files = book
    database.unlink()
    with pytest.raises(DataFolderError, match=r"is missing, but there are photographs.*restore"):
        refuse_a_damaged_book(database, files)


def test_an_empty_database_beside_photographs_is_no_new_workshop(book):
    database, files = book
    database.write_bytes(b"")
    with pytest.raises(DataFolderError, match="is empty, but there are photographs"):
        refuse_a_damaged_book(database, files)


def zeroed(database, page):
    with database.open("r+b") as file:
        file.seek(page * 4096)
        file.write(b"\0" * 4096)


@pytest.mark.parametrize("page", [0, 2])
def test_a_zeroed_page_is_said_with_the_file_and_the_way_back(book, page):
    zeroed(book[0], page)
    with pytest.raises(DataFolderError, match=r"crankmark.sqlite3 is damaged.*manage.py restore"):
        refuse_a_damaged_book(*book)


@pytest.fixture
def _looked_at_anew(monkeypatch):
    monkeypatch.setattr(damage, "_last_look", None)


@pytest.mark.usefixtures("_looked_at_anew")
def test_health_hears_of_a_zeroed_page(book, monkeypatch, client):
    zeroed(book[0], 2)
    with sqlite3.connect(book[0]) as opened:

        class Connection:
            vendor = "sqlite"

            def cursor(self):
                return self

            def __enter__(self):
                return opened.cursor()

            def __exit__(self, *_):
                pass

        monkeypatch.setattr(damage, "connection", Connection())
        assert client.get("/health/").status_code == 503
    opened.close()
