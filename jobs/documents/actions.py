"""Issuing documents, and the link by which a customer reads them."""

import hashlib
import secrets
from datetime import timedelta
from uuid import UUID

from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction

from garage.files.storage import discarded_on_failure
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.plain import Plain
from garage.record.refusals import RuleRefusedError
from jobs.documents.document_data import document_data
from jobs.documents.models import CustomerLink, DocumentKind, IssuedDocument
from jobs.documents.setting import set_document
from jobs.job import journal
from jobs.job.models import Job

LINK_LASTS = timedelta(days=400)


class DocumentRefusedError(RuleRefusedError):
    """A document cannot be issued now. Says why."""


def issue(
    *, job: Job, kind: DocumentKind, sign_off: Plain | None, idempotency_key: UUID, actor: Actor
) -> IssuedDocument:
    """Set a document, keep it byte for byte with its hash and the data that made it.

    `sign_off` is the second signature as the document shows it: {"by", "at", "remarks"}. The setting takes a moment,
    and is done before the transaction: nobody's tick waits for it.

    Raises
    ------
    DocumentRefusedError
        If its number was given out while it was set.
    timing.sheets.pdf.DocumentLibraryMissing
        If this machine cannot set documents.
    """
    known = IssuedDocument.objects.filter(idempotency_key=idempotency_key).first()
    if known:
        return known
    facts = document_data(job, sign_off, actor.at)
    facts["number"] = job.documents.filter(kind=kind).count() + 1
    facts["issued_by"] = str(actor.person)
    made = set_document(kind, facts)
    digest = hashlib.sha256(made).hexdigest()
    try:
        with discarded_on_failure(), transaction.atomic():
            document, is_new = IssuedDocument.objects.get_or_create(
                idempotency_key=idempotency_key,
                defaults={
                    "job": job,
                    "kind": kind,
                    "number": facts["number"],
                    "file": ContentFile(made, name=f"{job.code}-{kind.replace(' ', '-')}-{facts['number']}.pdf"),
                    "sha256": digest,
                    "made_from": facts,
                    "issued_at": actor.at,
                    "issued_by": actor.person,
                },
            )
            if is_new:
                sentence = f"Issued {document.get_kind_display()} no. {document.number}"
                journal.write(job, Event.DOCUMENT_ISSUED, sentence, actor=actor, sha256=digest, number=document.number)
    except IntegrityError as clash:
        raise DocumentRefusedError(f"Someone else just issued the {kind.label}. Look at theirs first.") from clash
    return document


@transaction.atomic
def make_link(*, job: Job, idempotency_key: UUID, actor: Actor) -> str | None:
    """Make a link for the customer and return its token: now and never again, for only its hash is kept.

    None for an `idempotency_key` that has made its link already.
    """
    token = secrets.token_urlsafe(24)
    _, is_new = CustomerLink.objects.get_or_create(
        idempotency_key=idempotency_key,
        defaults={
            "job": job,
            "token_sha256": hash_of(token),
            "made_at": actor.at,
            "made_by": actor.person,
            "expires_at": actor.at + LINK_LASTS,
        },
    )
    if not is_new:
        return None
    journal.write(job, Event.LINK_MADE, "Customer link made", actor=actor)
    return token


@transaction.atomic
def revoke_links(*, job: Job, actor: Actor) -> None:
    """Shut every link of this job."""
    if job.customer_links.filter(revoked_at=None).update(revoked_at=actor.at):
        journal.write(job, Event.LINKS_REVOKED, "Customer links cancelled", actor=actor)


def hash_of(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
