"""Choosing letters, and writing their text."""

from typing import Any

from django import forms

from garage.record.idempotency import IdempotentForm
from garage.record.row_versions import RowVersionForm
from jobs.rechecks.letters import DueReminder
from jobs.rechecks.models import Channel
from jobs.rechecks.wording import PLACEHOLDERS, WordingError, check


class RemindForm(IdempotentForm):
    """Which of the reminders that are due go out now by one way."""

    jobs = forms.TypedMultipleChoiceField(coerce=int, widget=forms.CheckboxSelectMultiple)

    def __init__(self, *args: Any, due: list[DueReminder], channel: Channel, **kwargs: Any) -> None:
        super().__init__(*args, **{"auto_id": f"id_{channel}_%s"} | kwargs)
        reminders = [one for one in due if channel in one.ways]
        jobs = self.fields["jobs"]
        jobs.label = f"{channel.label}s".capitalize()
        jobs.choices = [(one.job.pk, _in_words(one)) for one in reminders]  # type: ignore[attr-defined]
        # Who can be reached both ways is sent the first; the other stays possible.
        jobs.initial = [one.job.pk for one in reminders if one.ways[0] == channel]


def _in_words(one: DueReminder) -> str:
    car = one.job.vehicle
    return f"{car.registration}, {car.customer}, due {one.due_on:%d %b %Y}"


class TextForm(RowVersionForm):
    """The text of a reminder."""

    text = forms.CharField(
        label="Text",
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 14}),
        help_text="In braces: " + ", ".join(f"{{{name}}}" for name in PLACEHOLDERS) + ".",
    )

    def clean_text(self) -> str:
        text: str = self.cleaned_data["text"].replace("\r\n", "\n")
        try:
            check(text)
        except WordingError as problem:
            raise forms.ValidationError(str(problem)) from None
        return text
