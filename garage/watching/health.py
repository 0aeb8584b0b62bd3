"""What a watchdog may ask without an account: does the process live, and can it do its work?"""

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, JsonResponse
from django.views.decorators.http import require_safe

from garage.files.storage import files_answer
from garage.site.damage import database_is_whole
from garage.site.data_folder import LEAST_FREE_BYTES, DataFolderError, free_bytes, prepared

_tables_fit = False


@login_not_required
@require_safe
def live(request: HttpRequest) -> JsonResponse:
    """The process answers. Where it does not, start it again; the database's illness is no reason to."""
    return JsonResponse({"live": True})


@login_not_required
@require_safe
def ready(request: HttpRequest) -> JsonResponse:
    """Whether this process can do its work. Where it cannot, send people to another."""
    return _answered(
        {
            "database": database_is_whole(),
            "files": files_answer(),
            "migrations": tables_fit(),
            "disk": _has_room(),
        }
    )


@login_not_required
@require_safe
def health(request: HttpRequest) -> JsonResponse:
    return _answered({"database": database_is_whole(), "data_folder": _folder_is_writable()})


def _answered(found: dict[str, bool]) -> JsonResponse:
    return JsonResponse(found, status=200 if all(found.values()) else 503)


def tables_fit() -> bool:
    """Whether the tables are those of this release. Once they are they stay so for as long as this process lives."""
    global _tables_fit
    if not _tables_fit:
        try:
            executor = MigrationExecutor(connection)
            _tables_fit = not executor.migration_plan(executor.loader.graph.leaf_nodes())
        except DatabaseError:
            return False
    return _tables_fit


def _has_room() -> bool:
    try:
        return free_bytes(settings.DATA_DIR) >= LEAST_FREE_BYTES
    except OSError:
        return False


def _folder_is_writable() -> bool:
    try:
        prepared(settings.DATA_DIR)
    except DataFolderError:
        return False
    return True
