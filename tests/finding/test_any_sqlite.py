"""The book opens in the SQLite that the machine has, and not only in the newer one that the workshop brings along."""

import subprocess
import sys

from tests.tables import lay_tables

# The standard library's, untouched: in the test's own process a newer one stands in its place.
ASK = """
import sqlite3, sys
book = sqlite3.connect(sys.argv[1])
print(book.execute("SELECT count(*) FROM sqlite_master WHERE type = 'trigger'").fetchone()[0])
book.execute("UPDATE garage_workshop SET name = name")
"""


def test_a_book_opens_in_the_system_s_own_sqlite(tmp_path):
    lay_tables(tmp_path)
    asked = subprocess.run(
        [sys.executable, "-c", ASK, str(tmp_path / "crankmark.sqlite3")], capture_output=True, text=True, check=False
    )
    assert asked.returncode == 0, asked.stderr
    assert int(asked.stdout) > 50
