"""Strobe readings on a tablet: what the page's script needs, and the messages of its queue."""

from typing import IO, Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from garage.people.models import Staff
from garage.people.tablet_queue import answer_message
from garage.quantities.words import advance
from garage.record.actor import Actor
from garage.record.forms import sentences_of
from garage.record.queued import AskedFirstError, Choice, MessageError, QueuedMessage
from garage.record.refusals import RuleRefusedError
from jobs.job.models import Job
from jobs.job.pages import job_for
from jobs.strobe import actions
from jobs.strobe.forms import ReadingForm
from jobs.strobe.models import StrobeSession
from jobs.strobe.taking import take_reading


def vacuum_unit_for(session: StrobeSession, person: Staff) -> str | None:
    """The unit in which a page asks for the vacuum; None where the pipe is off all the time."""
    return person.vacuum_unit if session.map_version_id else None


def page_data(job: Job, session: StrobeSession, person: Staff) -> dict[str, Any]:
    """What the script of the page needs besides the page itself."""
    return {
        "job": job.code,
        "kind": "strobe",
        "item": f"session {session.pk}",
        "itemText": f"Strobe, {session.get_purpose_display()}",
        "person": {"id": person.pk, "name": str(person)},
        "urls": {
            "send": reverse("strobe:send", args=[job.code, session.pk]),
            "page": reverse("strobe:session", args=[job.code, session.pk]),
            "signIn": reverse("people:sign-in"),
            "serviceWorker": reverse("checklists:service-worker"),
        },
    }


@require_POST
def send(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Take one message of a tablet's queue into the session: a reading, or one that is undone."""

    def take(message: QueuedMessage, _upload: IO[bytes] | None, actor: Actor) -> None:
        sessions = job_for(code).strobe_sessions.select_related("map_version")
        _take(get_object_or_404(sessions, pk=pk), message, actor)

    return answer_message(request, take, no_permission="You can see these readings but not add any.")


def _take(session: StrobeSession, message: QueuedMessage, actor: Actor) -> None:
    match message.kind:
        case "reading":
            _take_reading(session, message, actor)
        case "undo":
            reading = session.readings.filter(pk=message.entry_id()).first()
            if reading is None:
                raise RuleRefusedError("The reading to undo is not in this session.")
            actions.withdraw_reading(reading=reading, actor=actor)
        case _:
            raise MessageError(f"‘{message.kind}’ is no message of a strobe session.")


def _take_reading(session: StrobeSession, message: QueuedMessage, actor: Actor) -> None:
    typed = message.fields() | {"id": str(message.id)}
    form = ReadingForm(typed, vacuum_unit=vacuum_unit_for(session, actor.person))
    made_at = message.made_at_by_our_clock(received_at=actor.at, begun_at=session.begun_at)
    doubt = take_reading(session=session, form=form, actor=actor, made_at=made_at)
    if form.errors:
        raise RuleRefusedError(*sentences_of(form))
    if doubt is not None:
        raise AskedFirstError(
            doubt.question,
            [
                Choice(f"Save {advance(doubt.corrected_deg)}", {"correct": doubt.corrected}),
                Choice(f"Save as typed, {advance(doubt.typed_deg)}", {"keep": doubt.typed}),
            ],
        )
