"""What the owner is told on the day's page: old backups, and a disk that fills up."""

from django.conf import settings
from django.http import HttpRequest
from django.utils import timezone

from garage.backup.workshop import what_is_wrong
from garage.site.data_folder import free_bytes

# Some hundred photographs and a backup's scratch folder: time enough to make room.
LITTLE_ROOM = 2 * 1024**3


def notices(request: HttpRequest) -> dict[str, list[str]]:
    user = getattr(request, "user", None)
    if request.path != "/" or user is None or not user.has_perm("garage.manage_workshop"):
        return {}
    return {"owner_notices": [sentence for sentence in (what_is_wrong(timezone.now()), little_room()) if sentence]}


def little_room() -> str:
    free = free_bytes(settings.DATA_DIR)
    return "" if free >= LITTLE_ROOM else f"Only {free // 1024**2} MB are free on the disk of the book. Make room."
