"""Road notes that were written with a pen, typed in afterwards: the numbered lines of the blank sheet, one Save."""

import uuid
from dataclasses import replace
from datetime import timedelta
from typing import Any

from django import forms
from django.db import transaction

from garage.people.models import Staff
from garage.record.actor import Actor
from garage.record.forms import sentences_of
from garage.record.idempotency import IdempotentForm
from jobs.roadtest.actions import take_note
from jobs.roadtest.forms import NoteForm
from jobs.roadtest.models import RoadNote, RoadRun

LINES_ON_PAPER = 14
COLUMNS = ("kind", "severity", "rpm", "vacuum_kpa", "gear", "load", "words")
_LONGEST_NAME = 60
_LONGEST_WORDS = (RoadNote._meta.get_field("words").max_length or 0) - _LONGEST_NAME - len("from paper, : ")


class PaperLine(NoteForm):
    """One line of the sheet, in boxes beside one another; one in which nothing was typed is no note."""

    def __init__(self, data: Any, *, number: int, vacuum_unit: str) -> None:
        super().__init__(
            data, vacuum_unit=vacuum_unit, prefix=f"line-{number}", empty_permitted=True, use_required_attribute=False
        )
        self.number = number
        del self.fields["id"]  # made of the page's own and the number of the line
        for name in ("kind", "severity", "gear", "load"):
            choices = [choice for choice in self.fields[name].choices if choice[0]]  # type: ignore[attr-defined]
            self.fields[name].widget = forms.Select(choices=[("", ""), *choices])
        label = self.fields["words"].label
        self.fields["words"] = forms.CharField(label=label, required=False, max_length=_LONGEST_WORDS)
        for name in COLUMNS:
            self.fields[name].widget.attrs["aria-label"] = f"No. {number}: {self.fields[name].label}"
        self.boxes = [self[name] for name in COLUMNS]

    @property
    def sentences(self) -> list[str]:
        """What is wrong with the line."""
        return sentences_of(self)


class FromPaperForm(IdempotentForm):
    """Who wrote it when, and the lines. All of them are saved, or none and it says which is wrong."""

    written = forms.CharField(
        label="Written by, on",
        max_length=_LONGEST_NAME,
        help_text="Goes with each note, such as T. Reed, 28 Nov.",
    )

    def __init__(self, data: Any = None, *, person: Staff, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        unit = person.vacuum_unit
        self.lines = [PaperLine(data, number=number, vacuum_unit=unit) for number in range(1, LINES_ON_PAPER + 1)]

    @property
    def notes(self) -> list[PaperLine]:
        """The lines that something was typed in."""
        return [line for line in self.lines if line.has_changed()]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for line in self.notes:
            for sentence in line.sentences:
                self.add_error(None, f"No. {line.number}: {sentence}")
        if not self.notes:
            self.add_error(None, "Nothing is typed in yet.")
        return cleaned


@transaction.atomic
def take_from_paper(*, run: RoadRun, form: FromPaperForm, actor: Actor) -> int:
    """Save the lines of a valid `form` as notes in their order, each of which says that it comes from paper.

    How many there were. Sent again, the same lines are the same notes.

    Raises
    ------
    RunOverError
        If the run has ended.
    """
    origin = f"from paper, {form.cleaned_data['written']}"
    for line in form.notes:
        values = line.values()
        words = values.pop("words")
        take_note(
            run=run,
            id=uuid.uuid5(form.cleaned_data["idempotency_key"], str(line.number)),
            # A moment apart: a list of notes is in the order of their moments.
            actor=replace(actor, at=actor.at + timedelta(microseconds=line.number)),
            words=f"{origin}: {words}" if words else origin,
            **values,
        )
    return len(form.notes)
