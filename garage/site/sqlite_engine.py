"""Puts a SQLite without the write-ahead-log bug in place of the system's, before Django loads its backend.

SQLite 3.7.0 to 3.51.2 can, rarely, corrupt a database in WAL mode used by several connections (sqlite.org, release
notes of 3.51.3). `pysqlite3` carries its own, newer SQLite; where it is not to be had the standard library's serves.
"""

import sys

FIRST_SOUND_VERSION = (3, 51, 3)


def use_sound_sqlite() -> None:
    import sqlite3

    if sqlite3.sqlite_version_info >= FIRST_SOUND_VERSION:
        return
    try:
        import pysqlite3
    except ImportError:
        return
    sys.modules["sqlite3"] = pysqlite3
    sys.modules["sqlite3.dbapi2"] = pysqlite3.dbapi2
