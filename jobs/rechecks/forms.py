"""Choosing letters, and writing their text."""

from typing import Any

from django import forms

from garage.record.idempotency import IdempotentForm
from garage.record.row_versions import RowVersionForm
from jobs.rechecks.letters import Letter
from jobs.rechecks.wording import PLACEHOLDERS, WordingError, check


class LettersForm(IdempotentForm):
    """Which of the letters that are due are printed now."""

    jobs = forms.TypedMultipleChoiceField(coerce=int, widget=forms.CheckboxSelectMultiple, label="Letters")

    def __init__(self, *args: Any, letters: list[Letter], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        said = [
            (
                letter.job.pk,
                f"{letter.job.vehicle.registration}, {letter.job.vehicle.customer}, due {letter.due_on:%d %b %Y}",
            )
            for letter in letters
        ]
        self.fields["jobs"].choices = said  # type: ignore[attr-defined]
        self.fields["jobs"].initial = [pk for pk, _ in said]


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
