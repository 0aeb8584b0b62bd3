"""The list of backups, for the owner."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from garage.backup import shelf
from garage.backup.notices import little_room
from garage.backup.workshop import what_is_wrong
from garage.people.access import permission_required
from garage.people.fresh_proof import fresh_proof_required


@require_GET
@permission_required("manage_workshop")
@fresh_proof_required
def page(request: HttpRequest) -> HttpResponse:
    folder = settings.BACKUP_FOLDER
    backups = shelf.backups(folder) if folder else []
    context = {
        "folder": folder,
        "bucket": settings.BACKUP_BUCKET,
        "backups": backups,
        "proven": shelf.last_proven(backups),
        "problems": [sentence for sentence in (what_is_wrong(timezone.now()), little_room()) if sentence],
    }
    return render(request, "garage/backup/page.html", context)
