"""One address that a watchdog may ask without an account: is the database whole, can the data folder be written?"""

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, JsonResponse
from django.views.decorators.http import require_safe

from garage.site.damage import database_is_whole
from garage.site.data_folder import DataFolderError, prepared


@login_not_required
@require_safe
def health(request: HttpRequest) -> JsonResponse:
    database, folder = database_is_whole(), _folder_is_writable()
    return JsonResponse({"database": database, "data_folder": folder}, status=200 if database and folder else 503)


def _folder_is_writable() -> bool:
    try:
        prepared(settings.DATA_DIR)
    except DataFolderError:
        return False
    return True
