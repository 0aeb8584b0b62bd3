"""What is still missing before the car may leave, and when it is due afterwards."""

from datetime import datetime
from typing import Any

from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format

from garage.people.models import Staff
from garage.people.queries import works_alone
from garage.record.facts import RecordedFact
from jobs.documents import queries as documents
from jobs.documents.coming_back import come_back
from jobs.documents.models import DocumentKind
from jobs.handover.models import SignOff
from jobs.job.models import Job
from jobs.job.progress import StageProgress
from jobs.maps import queries as maps
from jobs.strobe import queries as strobe
from jobs.strobe.final_check import final_check_of

# What `progress` and `after_care_progress` read of a job: who asks for many gathers it for all of them at once.
PREFETCH = ("sign_offs", "documents", *strobe.PREFETCH, *maps.PREFETCH)
PREFETCH_AFTER_CARE = ("crossings", "strobe_sessions__readings")


def hands_on(job: Job) -> set[int]:
    """The people whose own work the second person looks at: who read the final strobe, and who read the unit back."""
    return {fact.by_id for fact in _work_to_look_at(job)}


def own_work_done_at(job: Job, person: Staff) -> datetime | None:
    """When `person` last did a part of the work that is signed; None where others did all of it."""
    return max((fact.made_at for fact in _work_to_look_at(job) if fact.by_id == person.pk), default=None)


def _work_to_look_at(job: Job) -> list[RecordedFact]:
    final, now = strobe.final_check(job), maps.in_car(job)
    return [*(final.readings if final else []), *([now.proof] if now.proof else [])]


def current_sign_off(job: Job) -> SignOff | None:
    """The last signature for what is in the car now.

    One given before the version or the unit came in, before the final strobe check was read, or before a read-back
    that did not agree, was given for something else and counts no more.
    """
    now = maps.in_car(job)
    if now.version is None or now.since is None or now.doubt is not None:
        return None
    final = strobe.final_check(job)
    looked_at = max([now.since, *(reading.made_at for reading in final.readings)] if final else [now.since])
    signatures = [
        signature
        for signature in job.sign_offs.all()
        if signature.map_version_id == now.version.pk and signature.made_at >= looked_at
    ]
    return signatures[-1] if signatures else None


def sign_off_data(signature: SignOff | None) -> dict[str, Any] | None:
    """The second signature as a document shows it."""
    if signature is None:
        return None
    return {
        "by": str(signature.by),
        "at": signature.made_at,
        "remarks": signature.remarks,
        "pause": signature.pause,
        "read_again": signature.read_again,
    }


def progress(job: Job) -> StageProgress:
    now, final, signature = maps.in_car(job), final_check_of(job), current_sign_off(job)
    sheet = documents.newest_document(job, DocumentKind.CUSTOMER_SHEET)
    steps = [
        (now.doubt is None, "a clean read-back of the unit: the last did not agree"),
        *((False, words) for words in final.missing),
        (signature is not None, "the second check"),
        (
            sheet is not None
            and signature is not None
            and sheet.issued_at >= signature.made_at
            and documents.sheet_is_of(sheet, now, job.unit),
            "the customer's sheet, issued after the second check",
        ),
    ]
    missing = [words for holds, words in steps if not holds]
    label, url = _next_step(job, checked=final.passes, signed=signature is not None)
    return StageProgress(
        missing=missing,
        done=STEPS - min(STEPS, len(missing)),
        total=STEPS,
        next_label=label if missing else "",
        next_url=url if missing else "",
    )


# Read back clean, checked, signed, sheet issued.
STEPS = 4


def _next_step(job: Job, *, checked: bool, signed: bool) -> tuple[str, str]:
    """What comes next, and where: a part of the page, or for whoever works alone the page that shows no readings."""
    page = reverse("handover:page", args=[job.code])
    if not checked:
        return "Final strobe check", f"{page}#final"
    if signed:
        return "Issue customer's sheet", f"{page}#documents"
    alone = works_alone(timezone.localdate())
    return "Second check", reverse("handover:again", args=[job.code]) if alone else f"{page}#sign-off"


def after_care_progress(job: Job) -> StageProgress:
    """The last stage asks for nothing; it says when the car is due."""
    due = come_back(job)
    if due is None:
        return StageProgress()
    day = date_format(due.by, "j F Y")
    return StageProgress(
        next_label=f"Check car: due since {day}" if due.is_due else f"Check car by {day}",
        next_url=reverse("handover:after-care", args=[job.code]),
    )
