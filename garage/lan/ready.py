"""What must be in place before the workshop opens: its tables and its static files."""

import hashlib
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

# Any number that nothing else on this database locks.
MIGRATING = 8_104_220


def steps_behind() -> int:
    """How many migrations the database lacks."""
    executor = MigrationExecutor(connection)
    return len(executor.migration_plan(executor.loader.graph.leaf_nodes()))


def is_in_use() -> bool:
    """Whether there is a book already, and not only an empty database."""
    return bool(MigrationRecorder(connection).applied_migrations())


def copied_before_upgrade() -> Path | None:
    """A copy of a SQLite book in use, made before its tables change. What a server keeps is in the backup alone."""
    if connection.vendor != "sqlite" or not is_in_use():
        return None
    copy = Path(settings.DATA_DIR) / f"before-upgrade-{timezone.now():%Y%m%d-%H%M%S}.sqlite3"
    with connection.cursor() as cursor:
        cursor.execute("VACUUM INTO %s", [str(copy)])
    copy.chmod(0o600)
    return copy


def bring_tables_up_to_date() -> None:
    """Migrate. Of several machines that start together one does it and the others wait; SQLite has one machine."""
    if connection.vendor != "postgresql":
        call_command("migrate", interactive=False, verbosity=0)
        return
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_lock(%s)", [MIGRATING])
        try:
            call_command("migrate", interactive=False, verbosity=0)
        finally:
            cursor.execute("SELECT pg_advisory_unlock(%s)", [MIGRATING])


def static_files_are_stale() -> bool:
    noted = _note()
    return not noted.exists() or noted.read_text() != _state_of_the_sources()


def collect_static_files() -> None:
    state = _state_of_the_sources()
    call_command("collectstatic", interactive=False, verbosity=0)
    _note().write_text(state)


def _note() -> Path:
    return Path(settings.STATIC_ROOT) / ".collected"


def _state_of_the_sources() -> str:
    """Changes with any file's name, size or moment of change."""
    digest = hashlib.sha256()
    for finder in get_finders():
        for name, storage in sorted(finder.list([]), key=lambda found: found[0]):
            state = Path(storage.path(name)).stat()
            digest.update(f"{name} {state.st_size} {state.st_mtime_ns}\n".encode())
    return digest.hexdigest()
