"""Handing a car over: the second signature, and the documents that need it."""

from uuid import UUID

from django.db import transaction

from garage.record.actor import Actor
from garage.record.append import append
from garage.record.events import Event
from garage.record.idempotency import refuse_unless_same
from garage.record.refusals import RuleRefusedError
from jobs.documents import actions as documents
from jobs.documents.models import DocumentKind, IssuedDocument
from jobs.handover import queries
from jobs.handover.models import SignOff
from jobs.handover.review_token import review_token
from jobs.job import journal
from jobs.job.models import Job
from jobs.maps import queries as maps
from jobs.strobe.final_check import final_check_of


class HandoverRuleError(RuleRefusedError):
    """Something that must hold before a car is signed off or its papers are issued. Says what."""


@transaction.atomic
def sign_off(*, job: Job, id: UUID, remarks: str, actor: Actor, shown: str | None = None) -> SignOff:
    """A second person has looked and found it right; `shown` is the `review_token` of the page they looked at.

    Raises
    ------
    HandoverRuleError
        If the signer did the very work that is signed, no map version is in the car beyond doubt, or something else
        stands by now than was shown.
    """
    known = SignOff.objects.filter(pk=id).first()
    if known:
        refuse_unless_same(known, {"job": job, "by": actor.person, "remarks": remarks})
        return known
    now = maps.in_car(job)
    version = now.version
    if version is None:
        raise HandoverRuleError("No map in the car yet. Read it back first.")
    if now.doubt is not None:
        raise HandoverRuleError("The last read-back did not agree. Read back clean first.")
    final = final_check_of(job)
    if not final.passes:
        raise HandoverRuleError(f"First: {final.missing[0]}.")
    if actor.person.pk in queries.hands_on(job):
        raise HandoverRuleError(f"{actor.person} read the strobe or the unit. Someone else must do the second check.")
    if shown is not None and shown != review_token(job):
        raise HandoverRuleError("The map, read-back or final check changed meanwhile. Look again, then sign off.")
    signature, is_new = append(SignOff, id=id, actor=actor, job=job, map_version_id=version.pk, remarks=remarks)
    if is_new:
        words = f"Signed off with map {version}" + (f": {remarks}" if remarks else "")
        journal.write(job, Event.SIGNED_OFF, words, actor=actor, version=version.number)
    return signature


def issue_document(*, job: Job, kind: DocumentKind, idempotency_key: UUID, actor: Actor) -> IssuedDocument:
    """Issue a document; the customer's sheet and the label only once the second person has signed.

    Raises
    ------
    HandoverRuleError
        If the second signature or the final check is missing.
    jobs.documents.actions.DocumentRefusedError
        If somebody else issued the same document at the same moment.
    timing.sheets.pdf.DocumentLibraryMissing
        If this machine cannot set documents.
    """
    signature = queries.current_sign_off(job)
    known = IssuedDocument.objects.filter(idempotency_key=idempotency_key).exists()
    if not known and kind in (DocumentKind.CUSTOMER_SHEET, DocumentKind.LABEL) and signature is None:
        raise HandoverRuleError("The second check of the map in the car is missing.")
    final = final_check_of(job)
    if not known and kind == DocumentKind.CUSTOMER_SHEET and not final.passes:
        raise HandoverRuleError(f"Before the customer’s sheet: {final.missing[0]}.")
    return documents.issue(
        job=job, kind=kind, sign_off=queries.sign_off_data(signature), idempotency_key=idempotency_key, actor=actor
    )
