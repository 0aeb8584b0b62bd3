"""Uploading a list, saying what its columns hold, and what is done with doubles."""

from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from garage.arrivals.columns import OF_CARS, OF_CUSTOMERS, refusal_of
from garage.arrivals.models import WaitingList
from garage.arrivals.plan import CHOICES
from garage.arrivals.reading import LARGEST_BYTES, ListRefusedError, Table, table_of

HOLDS = [
    ("", "Leave out"),
    ("Customer", [(one.key, one.label) for one in OF_CUSTOMERS]),
    ("Car", [(one.key, one.label) for one in OF_CARS]),
]
SHOWN_CELLS = 3


class UploadForm(forms.Form):
    """A list of customers and cars as CSV."""

    file = forms.FileField(
        label="CSV file",
        allow_empty_file=True,
        help_text="At most 5,000 rows and 5 MB. The first line names the columns.",
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,text/csv"}),
    )

    def clean_file(self) -> Table:
        upload: UploadedFile = self.cleaned_data["file"]
        self.file_name = upload.name or "list"
        try:
            return table_of(upload.read(LARGEST_BYTES + 1))
        except ListRefusedError as refusal:
            raise forms.ValidationError(str(refusal)) from refusal


class ColumnsForm(forms.Form):
    """For each column of a list what it holds."""

    def __init__(self, *args: Any, waiting: WaitingList, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for place, (word, key) in enumerate(zip(waiting.header, waiting.columns, strict=True)):
            cells = [row[place].strip() for _, row in waiting.rows[:50] if place < len(row)]
            such_as = ", ".join(f"‘{cell[:40]}’" for cell in [cell for cell in cells if cell][:SHOWN_CELLS])
            self.fields[f"column-{place}"] = forms.ChoiceField(
                label=word[:80] or f"Column {place + 1}",
                choices=HOLDS,
                initial=key,
                required=False,
                help_text=f"Such as {such_as}" if such_as else "Empty in the first rows.",
            )

    @property
    def columns(self) -> list[str]:
        return [self.cleaned_data.get(name, "") for name in self.fields]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if refusal := refusal_of([cleaned.get(name, "") for name in self.fields]):
            raise forms.ValidationError(refusal)
        return cleaned


class ForAllForm(forms.Form):
    """One choice for every likely double."""

    for_all = forms.ChoiceField(label="All likely doubles", choices=[("", "Each by itself"), *CHOICES], required=False)
