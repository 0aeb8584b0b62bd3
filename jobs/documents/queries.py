"""Which documents were issued, whether they are sound, and what a customer's link opens."""

import hashlib
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.db.models import QuerySet

from garage.record.refusals import RuleRefusedError
from garage.units.models import FittedUnit
from jobs.documents.models import CustomerLink, DocumentKind, IssuedDocument
from jobs.job.models import Job
from jobs.maps import queries as maps


class DocumentDamagedError(RuleRefusedError):
    """The stored file is not the one that was issued."""


class DocumentErasedError(RuleRefusedError):
    """The stored file went with the customer whom it named; its kind, number, day and hash are kept."""


def sheet_is_of(document: IssuedDocument, now: maps.InCar, unit: FittedUnit | None) -> bool:
    """Whether a document tells of the version and the unit that are in the car now."""
    told = document.made_from["map"]
    if told is None or now.version is None or unit is None:
        return False
    return (told["number"], told["serial_number"]) == (now.version.number, unit.serial_number)


def newest_document(job: Job, kind: DocumentKind) -> IssuedDocument | None:
    papers = [paper for paper in job.documents.all() if paper.kind == kind]
    return max(papers, key=lambda paper: paper.number, default=None)


def stored_bytes(document: IssuedDocument) -> bytes:
    """The document as it went out.

    Raises
    ------
    DocumentDamagedError
        If the file is gone or is not the one whose hash was kept.
    DocumentErasedError
        If the customer whom it named was erased.
    """
    if not document.file:
        name = document.get_kind_display().capitalize()
        raise DocumentErasedError(f"{name} no. {document.number} was erased with its customer.")
    try:
        with document.file.open("rb") as file:
            kept = file.read()
    except OSError as problem:
        raise DocumentDamagedError(f"{document.get_kind_display()} no. {document.number} is missing") from problem
    if hashlib.sha256(kept).hexdigest() != document.sha256:
        raise DocumentDamagedError(f"{document.get_kind_display()} no. {document.number} was changed after issue")
    return kept


def open_link(token_sha256: str, at: datetime) -> CustomerLink | None:
    """The link of that hash, if it is still open."""
    return (
        CustomerLink.objects.filter(token_sha256=token_sha256, revoked_at=None, expires_at__gt=at)
        .select_related("job__vehicle__customer")
        .first()
    )


def documents_for_customer(job: Job) -> QuerySet[IssuedDocument]:
    """What the customer may read, newest first: all but the workshop's own bench record."""
    return job.documents.exclude(kind=DocumentKind.BENCH_RECORD).exclude(file="").order_by("-issued_at")


def what_was_set(papers: Iterable[IssuedDocument]) -> dict[str, Any] | None:
    """What the newest customer's sheet of `papers` was made from; None while there is none or it proves no map."""
    sheets = [paper for paper in papers if paper.kind == DocumentKind.CUSTOMER_SHEET]
    newest = max(sheets, key=lambda paper: paper.number, default=None)
    return newest.made_from if newest and newest.made_from["map"] else None
