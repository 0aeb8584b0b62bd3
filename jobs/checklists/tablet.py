"""What a tablet sends and asks, apart from pages: its queue, what others entered, and its service worker."""

import hashlib
import json
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import IO, Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from django.http import HttpRequest, HttpResponse, HttpResponseNotModified, JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_GET, require_POST

from garage.people.tablet_queue import answer_message, refused_message
from garage.record.actor import Actor
from garage.record.queued import MessageError, QueuedMessage
from jobs.checklists import actions, queries
from jobs.checklists.measuring import quantity_of, units_of
from jobs.checklists.models import ChecklistItem, Entry, JobSheet, Outcome
from jobs.checklists.photographs import prepared
from jobs.checklists.presentation import state_of, version_of
from jobs.checklists.record_actions import correct_record
from jobs.checklists.second_check_actions import confirm_entry
from jobs.checklists.views import kind_for, sheet_for
from jobs.job.pages import JOB_CODE, job_for
from timing.errors import TimingError


@require_POST
def send(request: HttpRequest, code: str, kind: str) -> HttpResponse:
    """Take one message of a tablet's queue into the sheet."""
    kind = kind_for(kind)
    record = queries.sheet_to_write(code, kind) if JOB_CODE.fullmatch(code) else None
    if record is None:
        job_for(code)  # not found, where there is no such job
        return refused_message("This sheet was not started.")
    return answer_message(
        request,
        lambda message, upload, actor: _take(record, message, upload, actor),
        no_permission="You can read this sheet but not fill it in.",
    )


def _take(record: JobSheet, message: QueuedMessage, upload: IO[bytes] | None, actor: Actor) -> None:
    made_at = message.made_at_by_our_clock(received_at=actor.at, begun_at=record.begun_at)
    match message.kind:
        case "entry":
            actions.record_entry(
                sheet=record,
                key=message.key,
                id=message.id,
                actor=actor,
                outcome=_outcome_of(message),
                **_read_of(record, message),
                choice=message.words("choice"),
                text=message.words("text"),
                note=message.words("note"),
                replaces=message.ids("replaces"),
                confirms=message.id_of("confirms"),
                together=message.count("together"),
                made_at=made_at,
            )
        case "correction":
            entry = Entry.objects.filter(pk=message.entry_id(), sheet=record).first()
            if entry is None:
                raise actions.EntryRefusedError("What was measured is not on this sheet.")
            correct_record(entry=entry, seen=message.words("seen"), actor=actor)
        case "confirmation":
            entry = Entry.objects.filter(pk=message.entry_id(), sheet=record).first()
            if entry is None:
                raise actions.EntryRefusedError("The entry to be confirmed is not on this sheet.")
            confirm_entry(entry=entry, id=message.id, actor=actor, made_at=made_at)
        case "photograph":
            if upload is None:
                raise MessageError("The photograph is missing.")
            actions.record_photograph(
                sheet=record,
                key=message.key,
                id=message.id,
                entry_id=message.entry_id(),
                picture=prepared(upload),
                actor=actor,
                note=message.words("note"),
                replaces=message.ids("replaces"),
                made_at=made_at,
            )
        case _:
            raise MessageError(f"‘{message.kind}’ is no message of a sheet.")


def _outcome_of(message: QueuedMessage) -> Outcome:
    try:
        return Outcome(message.body.get("outcome", Outcome.DONE))
    except ValueError as problem:
        raise MessageError("This message does not say what came of the item.") from problem


def _read_of(record: JobSheet, message: QueuedMessage) -> dict[str, Any]:
    """The figure of a message in the canonical unit of its item, with the unit it was read in."""
    figure, unit = message.figure("measure"), message.words("unit")
    if figure is None:
        return {"measure": None}
    item = ChecklistItem.objects.filter(revision=record.revision_id, key=message.key).order_by().first()
    if item is None:  # whether the item is known at all is the record's to say
        return {"measure": figure}
    if len(units_of(item)) > 1 and not unit:
        # Made by an older page, on which the item had one unit and perhaps another meaning.
        raise MessageError(f"‘{item.text}’: this does not say in which unit. Enter it again.")
    try:
        measure = quantity_of(item).canonical_of(figure, unit or item.unit)
    except (ValueError, TimingError):
        raise MessageError(f"‘{item.text}’ is read in {' or '.join(units_of(item))}, not in {unit}.") from None
    return {"measure": measure, "unit": unit, "beside": message.figure("beside")}


@require_GET
@gzip_page
@ensure_csrf_cookie
@queries.sheets_laid_out_once
def state(request: HttpRequest, code: str, kind: str) -> HttpResponse:
    """What stands on the sheet, for tablets that ask every few seconds.

    Asking beats server-sent events here: an unchanged sheet costs one question and an empty answer, a tablet that lost
    its Wi-Fi simply asks again, and no worker of the server is held open by each tablet on the floor.
    """
    job, kind = job_for(code), kind_for(kind)
    record = queries.sheet_record(job, kind)
    if record is None:
        return JsonResponse({"problem": "This sheet was not started."}, status=404)
    record.job = job
    tag = f'"{version_of(record)}"'
    if tag in request.headers.get("If-None-Match", ""):  # packed on the way, it comes back as a weak one: W/"…"
        return HttpResponseNotModified(headers={"ETag": tag})
    # Kept by no cache but the sheet's own, which a sign-out empties.
    return JsonResponse(state_of(sheet_for(job, kind)), headers={"ETag": tag, "Cache-Control": "no-store"})


# What a page needs to open without a network, besides the page itself.
SCRIPTS = ("js", "js/queue", "js/fitting", "js/strobe", "js/road")
KEPT_FOLDERS = {"css": "*.css", **dict.fromkeys(SCRIPTS, "*.js"), "img": "*.svg", "img/drawings": "*.svg"}
# The last parts of the pages that open without a network, and what each is called: sheets (`queries.PAGE_OF`), a
# session with the strobe, a run on the road.
KEPT_PAGES = {
    "fitting": "fitting sheet",
    "inspection/sheet": "inspection sheet",
    r"strobe/\d+": "strobe readings",
    r"road-test/\d+": "road notes",
}


@login_not_required
@never_cache
@require_GET
def service_worker(request: HttpRequest) -> HttpResponse:
    """The script that opens pages without a network. Its release changes with any file it keeps."""
    files = kept_files() if not settings.DEBUG else kept_files.__wrapped__()
    settings_of_worker = {
        "release": files.release,
        "files": list(files.urls),
        "scope": "/jobs/",
        "pages": KEPT_PAGES,
        "stylesheets": [url for url in files.urls if url.endswith(".css")],
    }
    source = Path(str(finders.find("js/queue/service-worker.js"))).read_text()
    return HttpResponse(
        f"const SETTINGS = {json.dumps(settings_of_worker)};\n{source}", content_type="text/javascript; charset=utf-8"
    )


@dataclass(frozen=True, slots=True)
class KeptFiles:
    release: str
    urls: tuple[str, ...]


@lru_cache(maxsize=1)
def kept_files() -> KeptFiles:
    digest, urls = hashlib.sha256(), []
    for folder, pattern in KEPT_FOLDERS.items():
        for path in sorted((settings.BASE_DIR / "static" / folder).glob(pattern)):
            digest.update(path.name.encode() + path.read_bytes())
            urls.append(staticfiles_storage.url(f"{folder}/{path.name}"))
    urls.append(staticfiles_storage.url("django_htmx/htmx-2.min.js"))
    return KeptFiles(digest.hexdigest()[:16], tuple(urls))
