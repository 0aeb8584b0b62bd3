"""Handing a car over: the second person's signature, the documents, the customer's link."""

import hashlib
import secrets
from datetime import timedelta
from uuid import UUID

from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction

from garage.people.signature import Signature
from garage.site.once import refuse_unless_same
from jobs.card import journal
from jobs.card.models import Job
from jobs.card.recording import append
from jobs.handover import queries
from jobs.handover.documents import set_document
from jobs.handover.dossier import dossier
from jobs.handover.models import CustomerLink, DocumentKind, IssuedDocument, SignOff
from jobs.handover.shown import state_shown
from jobs.maps import queries as maps

LINK_LASTS = timedelta(days=400)


class HandoverRuleError(Exception):
    """Something that must hold before a car is signed off or its papers are issued. Says what."""


@transaction.atomic
def sign_off(*, job: Job, id: UUID, remarks: str, signed: Signature, shown: str | None = None) -> SignOff:
    """A second person has looked and found it right; `shown` is the `state_shown` of the page they looked at.

    Raises
    ------
    HandoverRuleError
        If the signer did the very work that is signed, no map version is in the car beyond doubt, or something else
        stands by now than was shown.
    """
    known = SignOff.objects.filter(pk=id).first()
    if known:
        refuse_unless_same(known, {"job": job, "by": signed.by, "remarks": remarks})
        return known
    now = maps.in_car(job)
    version = now.version
    if version is None:
        raise HandoverRuleError("No map version is in the car yet: read one back first.")
    if now.doubt is not None:
        raise HandoverRuleError("The unit was read back once more and did not agree. Read it back clean first.")
    if signed.by.pk in queries.hands_on(job):
        raise HandoverRuleError(
            f"{signed.by} read the strobe or the unit for this car. The second look is another person's."
        )
    if shown is not None and shown != state_shown(job):
        raise HandoverRuleError(
            "The map, its read-back or the final strobe check changed since this page was shown. "
            "Look at what stands now, then sign."
        )
    signature, is_new = append(SignOff, id=id, signed=signed, job=job, map_version_id=version.pk, remarks=remarks)
    if is_new:
        words = f"Signed off with map {version}" + (f": {remarks}" if remarks else "")
        journal.write(job, "signed-off", words, signed=signed, version=version.number)
    return signature


def issue_document(*, job: Job, kind: DocumentKind, once: UUID, signed: Signature) -> IssuedDocument:
    """Set a document, keep it byte for byte with its hash and the data that made it.

    The setting takes a moment, and is done before the transaction: nobody's tick waits for it.

    Raises
    ------
    HandoverRuleError
        If the customer's sheet is asked for before the second person has signed, or its number was given out while
        it was set.
    timing.sheets.pdf.DocumentLibraryMissing
        If this machine cannot set documents.
    """
    known = IssuedDocument.objects.filter(once=once).first()
    if known:
        return known
    sign_off = queries.standing_sign_off(job)
    if kind in (DocumentKind.CUSTOMER_SHEET, DocumentKind.LABEL) and sign_off is None:
        raise HandoverRuleError("The second person has not signed off the map that is in the car.")
    facts = dossier(job, sign_off, signed.at)
    facts["number"] = job.documents.filter(kind=kind).count() + 1
    facts["issued_by"] = str(signed.by)
    made = set_document(kind, facts)
    digest = hashlib.sha256(made).hexdigest()
    try:
        with transaction.atomic():
            document, is_new = IssuedDocument.objects.get_or_create(
                once=once,
                defaults={
                    "job": job,
                    "kind": kind,
                    "number": facts["number"],
                    "file": ContentFile(made, name=f"{job.code}-{kind.replace(' ', '-')}-{facts['number']}.pdf"),
                    "sha256": digest,
                    "made_from": facts,
                    "issued_at": signed.at,
                    "issued_by": signed.by,
                },
            )
            if is_new:
                sentence = f"Issued {document.get_kind_display()} no. {document.number}"
                journal.write(job, "document-issued", sentence, signed=signed, sha256=digest, number=document.number)
    except IntegrityError as clash:
        raise HandoverRuleError(
            f"Somebody else issued the {kind.label} at the same moment. Look at theirs before you issue another."
        ) from clash
    return document


@transaction.atomic
def make_link(*, job: Job, once: UUID, signed: Signature) -> str | None:
    """A link for the customer. The token is given out now and never again, for only its hash is kept: None for a `once`
    that has made its link."""
    token = secrets.token_urlsafe(24)
    _, is_new = CustomerLink.objects.get_or_create(
        once=once,
        defaults={
            "job": job,
            "token_sha256": hash_of(token),
            "made_at": signed.at,
            "made_by": signed.by,
            "expires_at": signed.at + LINK_LASTS,
        },
    )
    if not is_new:
        return None
    journal.write(job, "link-made", "Made a link for the customer", signed=signed)
    return token


@transaction.atomic
def revoke_links(*, job: Job, signed: Signature) -> None:
    """Shut every link of this job."""
    if job.customer_links.filter(revoked_at=None).update(revoked_at=signed.at):
        journal.write(job, "links-revoked", "Shut the customer's links", signed=signed)


def hash_of(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
