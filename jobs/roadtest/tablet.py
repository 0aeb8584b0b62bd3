"""Road notes on a passenger's tablet: what the page's script needs, and the messages of its queue."""

from dataclasses import dataclass
from typing import IO, Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from garage.people.models import Staff
from garage.people.tablet_queue import answer_message
from garage.quantities.measure import VACUUM
from garage.record.actor import Actor
from garage.record.forms import sentences_of
from garage.record.queued import MessageError, QueuedMessage
from garage.record.refusals import RuleRefusedError
from jobs.job.models import Job
from jobs.job.pages import job_for
from jobs.roadtest import actions
from jobs.roadtest.forms import NoteForm
from jobs.roadtest.models import Load, NoteKind, RoadNote, RoadRun, Severity

# As far as the slide goes: no engine idles at less. A figure may be typed beyond it.
MOST_VACUUM_KPA = 80.0

# Under which prefix the boxes of the place stand on the page, beside those of the note.
PLACING = "place"


@dataclass(frozen=True, slots=True)
class Felt:
    """One of the large buttons: what was felt, and how strongly where that is asked."""

    kind: NoteKind
    severity: Severity = Severity.NOT_SAID

    @property
    def words(self) -> str:
        words = str(self.kind.label)
        return f"{words}, {self.severity.label}" if self.severity else words

    @property
    def said(self) -> str:
        """As the list of notes says it."""
        words = str(self.kind.label)
        return f"{self.severity.label} {words}" if self.severity else words


FELT = [
    Felt(NoteKind.PINKING, Severity.TRACE),
    Felt(NoteKind.PINKING, Severity.CLEAR),
    Felt(NoteKind.PINKING, Severity.HEAVY),
    Felt(NoteKind.FLAT_SPOT),
    Felt(NoteKind.SURGE),
    Felt(NoteKind.HUNTING),
    Felt(NoteKind.RUN_ON),
    Felt(NoteKind.HOT_START),
    Felt(NoteKind.KICK_BACK),
    Felt(NoteKind.IDLE),
    Felt(NoteKind.FINE),
]


def page_data(job: Job, run: RoadRun, person: Staff) -> dict[str, Any]:
    """What the script of the page needs besides the page itself."""
    return {
        "job": job.code,
        "kind": "road",
        "item": f"run {run.pk}",
        "itemText": "Road test",
        "person": {"id": person.pk, "name": str(person)},
        "placing": PLACING,
        "mostVacuum": round(VACUUM.in_unit(MOST_VACUUM_KPA, person.vacuum_unit)),
        "kinds": dict(NoteKind.choices),
        "strengths": {str(severity.value): severity.label for severity in Severity if severity},
        "loads": dict(Load.choices),
        "urls": {
            "send": reverse("roadtest:send", args=[job.code, run.pk]),
            "page": reverse("roadtest:run", args=[job.code, run.pk]),
            "signIn": reverse("people:sign-in"),
            "serviceWorker": reverse("checklists:service-worker"),
        },
    }


@require_POST
def send(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Take one message of a tablet's queue into the run: a note, its place, or its undoing."""

    def take(message: QueuedMessage, _upload: IO[bytes] | None, actor: Actor) -> None:
        runs = job_for(code).road_runs.select_related("driver", "writer", "map_version")
        _take(get_object_or_404(runs, pk=pk), message, actor)

    return answer_message(request, take, no_permission="You can see these notes but not add any.")


def _take(run: RoadRun, message: QueuedMessage, actor: Actor) -> None:
    made_at = message.made_at_by_our_clock(received_at=actor.at, begun_at=run.begun_at)
    match message.kind:
        case "note":
            actions.take_note(run=run, id=message.id, actor=actor, made_at=made_at, **_typed(message, actor))
        case "placing":
            note = _note(run, message)
            actions.place_note(note=note, id=message.id, actor=actor, made_at=made_at, **_typed(message, actor))
        case "undo":
            actions.withdraw_note(note=_note(run, message), actor=actor)
        case _:
            raise MessageError(f"‘{message.kind}’ is no message of a road test.")


def _typed(message: QueuedMessage, actor: Actor) -> dict[str, Any]:
    form = NoteForm(message.fields() | {"id": str(message.id)}, vacuum_unit=actor.person.vacuum_unit)
    if not form.is_valid():
        raise RuleRefusedError(*sentences_of(form))
    return form.values()


def _note(run: RoadRun, message: QueuedMessage) -> RoadNote:
    note = run.notes.filter(pk=message.entry_id()).first()
    if note is None:
        raise RuleRefusedError("The note is not in this run.")
    return note
