"""The one way to write the trail."""

from typing import Any
from uuid import UUID

from django.db import models

from garage.quantities.words import plain
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.models import TrailEntry, kind_of

Said = dict[str, str]


def write(
    event: Event,
    subject: models.Model,
    sentence: str,
    *,
    actor: Actor,
    changes: list[dict[str, str]] | None = None,
    figures: dict[str, Any] | None = None,
    job_id: int | None = None,
    stage: str = "",
    idempotency_key: UUID | None = None,
) -> TrailEntry:
    """Append an entry about `subject`.

    `sentence` is what a person reads in a year; `changes` are the old and the new values, `figures` plain JSON values.
    An entry of a job names the job and the stage it is at.
    """
    return TrailEntry.objects.create(
        event=event,
        subject_kind=kind_of(subject),
        subject_id=subject.pk,
        at=actor.at,
        by=actor.person,
        device=actor.device,
        sentence=sentence,
        changes=changes or [],
        figures=figures or {},
        job_id=job_id,
        stage=stage,
        idempotency_key=idempotency_key,
    )


def said_of(thing: models.Model, names: list[str], prefix: str = "") -> Said:
    """What the fields `names` of `thing` say now, by their labels."""
    return {
        f"{prefix}{thing._meta.get_field(name).verbose_name}": _in_words(thing, name)  # type: ignore[union-attr]
        for name in names
    }


def _in_words(thing: models.Model, name: str) -> str:
    value: Any = getattr(thing, f"get_{name}_display", lambda: getattr(thing, name))()
    if value is None or value == []:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(_row_in_words(row) for row in value)
    if isinstance(value, dict):
        return ", ".join(f"{key}: {_row_in_words(row)}" for key, row in value.items())
    return plain(value) if isinstance(value, float) else str(value)


def _row_in_words(row: Any) -> str:
    """A row of an advance band, the values of a rule, or a word."""
    if not isinstance(row, list):
        return str(row)
    return " ".join(
        plain(one) if isinstance(one, float | int) and not isinstance(one, bool) else str(one) for one in row
    )


def note_change(
    thing: models.Model,
    *,
    before: Said,
    after: Said,
    actor: Actor,
    event: Event = Event.CHANGED,
    sentence: str = "",
) -> None:
    """Keep who changed `thing`, what of it, and in `sentence` why; nothing where nothing differs."""
    rows = differences(before, after)
    if rows:
        write(event, thing, sentence, actor=actor, changes=rows)


def differences(before: Said, after: Said) -> list[dict[str, str]]:
    """The rows of what differs between two answers of `said_of`."""
    return [
        {"label": label, "before": before[label], "after": now} for label, now in after.items() if before[label] != now
    ]
