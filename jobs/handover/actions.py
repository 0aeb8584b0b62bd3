"""Handing a car over: the second signature, and the documents that need it."""

from collections.abc import Sequence
from uuid import UUID

from django.db import transaction

from garage.record.actor import Actor
from garage.record.append import append
from garage.record.events import Event
from garage.record.idempotency import refuse_unless_same
from jobs.documents import actions as documents
from jobs.documents.models import DocumentKind, IssuedDocument
from jobs.handover import queries
from jobs.handover.models import SignOff
from jobs.handover.refusals import HandoverRuleError
from jobs.handover.review_token import review_token
from jobs.handover.second_look import read_by
from jobs.job import journal
from jobs.job.models import Job
from jobs.job.second_check import pause_in_words, pause_of_own
from jobs.maps import queries as maps
from jobs.maps.models import MapVersion
from jobs.strobe.final_check import final_check_of


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
    version = _what_is_signed(job)
    if actor.person.pk in queries.hands_on(job):
        raise HandoverRuleError(f"{actor.person} read the strobe or the unit. Someone else must do the second check.")
    _refuse_changed(job, shown)
    signature, is_new = append(SignOff, id=id, actor=actor, job=job, map_version_id=version.pk, remarks=remarks)
    if is_new:
        words = f"Signed off with map {version}" + (f": {remarks}" if remarks else "")
        journal.write(job, Event.SIGNED_OFF, words, actor=actor, version=version.number)
    return signature


LEAVE_WITH_THE_CAR = (DocumentKind.CUSTOMER_SHEET, DocumentKind.RESTORE_SHEET, DocumentKind.LABEL)


def sign_off_own(
    *,
    job: Job,
    id: UUID,
    remarks: str,
    read_again: Sequence[tuple[float, float]],
    actor: Actor,
    shown: str | None = None,
) -> SignOff:
    """Whoever works alone signs their own work, after a pause and with the strobe read again.

    `read_again` are speeds and what the strobe read there, pipe off. [rpm, degrees before top dead centre]
    One that fails is refused, and stays in the journal.

    Raises
    ------
    HandoverRuleError
        As `sign_off`; or if a reading fails, or too few speeds were read.
    SecondCheckRefusedError
        If somebody else is there today, or the pause was too short.
    """
    known = SignOff.objects.filter(pk=id).first()
    if known:
        refuse_unless_same(known, {"job": job, "by": actor.person, "remarks": remarks})
        return known
    version = _what_is_signed(job)
    done_at = queries.own_work_done_at(job, actor.person)
    if done_at is None:
        raise HandoverRuleError("Not your own work: give the second check itself.")
    pause = pause_of_own(actor=actor, done_at=done_at)
    _refuse_changed(job, shown)
    looks = read_by(version, read_again)
    said = "; ".join(look.in_words for look in looks)
    failed = next((look for look in looks if not look.passes), None)
    if failed is not None:
        journal.write(
            job, Event.SECOND_LOOK_FAILED, f"Strobe read again before signing off: {said}", actor=actor,
            version=version.number,
        )  # fmt: skip
        raise HandoverRuleError(f"Fail: {failed.in_words}. Read the final check again.")
    with transaction.atomic():
        signature, is_new = append(
            SignOff, id=id, actor=actor, job=job, map_version_id=version.pk, remarks=remarks,
            own_pause_s=int(pause.total_seconds()), read_again=[look.data for look in looks],
        )  # fmt: skip
        if is_new:
            words = f"Signed off with map {version} ({pause_in_words(signature.own_pause_s)}). Strobe again: {said}"
            journal.write(job, Event.SIGNED_OFF, words, actor=actor, version=version.number)
    return signature


def _what_is_signed(job: Job) -> MapVersion:
    """The map in the car beyond doubt, with its final check passed."""
    now = maps.in_car(job)
    if now.version is None:
        raise HandoverRuleError("No map in the car yet. Read it back first.")
    if now.doubt is not None:
        raise HandoverRuleError("The last read-back did not agree. Read back clean first.")
    final = final_check_of(job)
    if not final.passes:
        raise HandoverRuleError(f"First: {final.missing[0]}.")
    return now.version


def _refuse_changed(job: Job, shown: str | None) -> None:
    if shown is not None and shown != review_token(job):
        raise HandoverRuleError("The map, read-back or final check changed meanwhile. Look again, then sign off.")


def issue_document(*, job: Job, kind: DocumentKind, idempotency_key: UUID, actor: Actor) -> IssuedDocument:
    """Issue a document; what leaves with the car only once the second person has signed.

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
    if not known and kind in LEAVE_WITH_THE_CAR and signature is None:
        raise HandoverRuleError("The second check of the map in the car is missing.")
    final = final_check_of(job)
    if not known and kind == DocumentKind.CUSTOMER_SHEET and not final.passes:
        raise HandoverRuleError(f"Before the customer’s sheet: {final.missing[0]}.")
    return documents.issue(
        job=job, kind=kind, sign_off=queries.sign_off_data(signature), idempotency_key=idempotency_key, actor=actor
    )
