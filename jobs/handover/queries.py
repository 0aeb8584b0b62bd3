"""What is still missing before the car may leave, what left with it, and what is due afterwards."""

import hashlib
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Max, Q, QuerySet
from django.db.models.functions import Coalesce, Greatest
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format

from garage.people.queries import the_workshop
from garage.units.models import FittedUnit
from jobs.card.models import Job, Stage
from jobs.card.progress import StageProgress
from jobs.handover.dates import months_later
from jobs.handover.models import CustomerLink, DocumentKind, IssuedDocument, SignOff
from jobs.maps import queries as maps
from jobs.strobe import queries as strobe
from timing.units import KM_PER_MILE


class DocumentDamagedError(Exception):
    """The stored file is not the one that was issued."""


# What `progress` and `after_care_progress` read of a job: who asks for many gathers it for all of them at once.
GATHERED = ("sign_offs", "documents", *strobe.GATHERED, *maps.GATHERED)
GATHERED_AFTERWARDS = ("crossings", "strobe_sittings__readings")


def hands_on(job: Job) -> set[int]:
    """The people whose own work the second person looks at: who read the final strobe, and who read the unit back."""
    people = set()
    final = strobe.final_check(job)
    if final:
        people |= {reading.by_id for reading in final.readings}
    now = maps.in_car(job)
    if now.proof:
        people.add(now.proof.by_id)
    return people


def standing_sign_off(job: Job) -> SignOff | None:
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


def sheet_is_of(document: IssuedDocument, now: maps.InCar, unit: FittedUnit | None) -> bool:
    """Whether a document tells of the version and the unit that are in the car now."""
    told = document.made_from["map"]
    if told is None or now.version is None or unit is None:
        return False
    return (told["number"], told["serial_number"]) == (now.version.number, unit.serial_number)


def newest_document(job: Job, kind: DocumentKind) -> IssuedDocument | None:
    papers = [paper for paper in job.documents.all() if paper.kind == kind]
    return max(papers, key=lambda paper: paper.number, default=None)


def progress(job: Job) -> StageProgress:
    now, final, signature = maps.in_car(job), strobe.final_check(job), standing_sign_off(job)
    sheet = newest_document(job, DocumentKind.CUSTOMER_SHEET)
    steps = [
        (now.doubt is None, "a clean read-back of the unit: the last one did not agree"),
        (final is not None and final.holds, "a final strobe check of the map in the car, within tolerance"),
        (signature is not None, "the signature of a second person"),
        (
            sheet is not None
            and signature is not None
            and sheet.issued_at >= signature.made_at
            and sheet_is_of(sheet, now, job.unit),
            "the customer's sheet, issued after the signature",
        ),
    ]
    missing = [words for holds, words in steps if not holds]
    label, part = _next_step(final is not None and final.holds, signature is not None)
    return StageProgress(
        missing=missing,
        done=len(steps) - len(missing),
        total=len(steps),
        next_label=label if missing else "",
        next_url=f"{reverse('handover:page', args=[job.code])}#{part}" if missing else "",
    )


def _next_step(checked: bool, signed: bool) -> tuple[str, str]:
    """What comes next, and on which part of the page."""
    if not checked:
        return "Check the timing a last time", "final"
    return ("Issue the customer's sheet", "documents") if signed else ("Let a second person sign", "sign-off")


def after_care_progress(job: Job) -> StageProgress:
    """The last stage asks for nothing; it says when the car is due."""
    due = come_back(job)
    if due is None:
        return StageProgress()
    day = date_format(due.by, "j F Y")
    return StageProgress(
        next_label=f"Check the car: due since {day}" if due.is_due else f"Check the car by {day}",
        next_url=reverse("handover:after-care", args=[job.code]),
    )


def stored_bytes(document: IssuedDocument) -> bytes:
    """The document as it went out.

    Raises
    ------
    DocumentDamagedError
        If the file is gone or is not the one whose hash was kept.
    """
    try:
        with document.file.open("rb") as file:
            kept = file.read()
    except OSError as problem:
        raise DocumentDamagedError(
            f"{document.get_kind_display()} no. {document.number} is not where it was kept"
        ) from problem
    if hashlib.sha256(kept).hexdigest() != document.sha256:
        raise DocumentDamagedError(
            f"{document.get_kind_display()} no. {document.number} was changed after it was issued"
        )
    return kept


def open_link(token_sha256: str, at: datetime) -> CustomerLink | None:
    """The link of that hash, if it is still open."""
    return (
        CustomerLink.objects.filter(token_sha256=token_sha256, revoked_at=None, expires_at__gt=at)
        .select_related("job__vehicle__customer")
        .first()
    )


# A car that left a while ago and is not due soon waits for nothing; one that never came back is no work of today.
JUST_LEFT = timedelta(days=60)
DUE_SOON = timedelta(days=30)
LONG_OVERDUE = timedelta(days=120)


@dataclass(frozen=True, slots=True)
class ComeBack:
    """When the car is due again; `checked` is when it was last looked at since it was handed over."""

    handed_over: datetime
    first_km: int
    first: str
    by: date
    checked: datetime | None = None

    @property
    def is_due(self) -> bool:
        return timezone.localdate() >= self.by


def come_back(job: Job) -> ComeBack | None:
    """When a car that was handed over is due again; None while it is still here."""
    handed_over = [crossing for crossing in job.crossings.all() if crossing.entered == Stage.AFTER_CARE]
    if not handed_over:
        return None
    left = handed_over[-1]
    workshop = the_workshop()
    checked = strobe.last_after_care(job)
    day = timezone.localtime(max(left.at, checked) if checked else left.at).date()
    first = distance(workshop.recheck_km, job.odometer_unit)
    return ComeBack(left.at, workshop.recheck_km, first, months_later(day, workshop.recheck_months), checked)


def distance(km: int, odometer_unit: str) -> str:
    """A distance as the driver counts it: '800 km', or '500 miles (800 km)' by an odometer in miles."""
    return f"{round(km / KM_PER_MILE, -1):.0f} miles ({km} km)" if odometer_unit == "miles" else f"{km} km"


def waiting_in_after_care(jobs: QuerySet[Job], today: date) -> QuerySet[Job]:
    """Of `jobs`, those in after-care that somebody has to think of: just handed over, or due about now."""
    left = Max("crossings__at", filter=Q(crossings__entered=Stage.AFTER_CARE))
    checked = Max("strobe_sittings__begun_at", filter=Q(strobe_sittings__purpose=strobe.AFTER_CARE))
    last_due = months_later(today, -the_workshop().recheck_months)  # what was seen on this day is due today
    seen = jobs.filter(stage=Stage.AFTER_CARE).annotate(left=left, seen=Greatest(left, Coalesce(checked, left)))
    return seen.filter(
        Q(left=None)
        | Q(left__date__gte=today - JUST_LEFT)
        | Q(seen__date__range=(last_due - LONG_OVERDUE, last_due + DUE_SOON))
    )
