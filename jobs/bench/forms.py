"""Taking a map over from a sheet."""

from typing import Any

from django import forms
from django.http import QueryDict

from garage.record.idempotency import IdempotentForm
from jobs.maps.forms import MOST_REASON, REASON
from jobs.settings_file.out_of_pdf import LARGEST_PDF
from jobs.settings_file.reading import LARGEST_BYTES

# Why a map is taken over most often.
RESTORED = "Unit restored"


class SheetForm(IdempotentForm):
    """A sheet as PDF, or the text of its camera code; a reason too, once what it holds has been looked at."""

    file = forms.FileField(
        required=False,
        label="Sheet as PDF",
        help_text="Restore sheet, customer’s sheet, bench record or label. At most 10 MB.",
        widget=forms.FileInput(attrs={"accept": ".pdf,application/pdf"}),
    )
    text = forms.CharField(
        required=False,
        max_length=4000,
        label="Text of the code",
        help_text="Or point a phone’s camera at the code on the sheet, copy the text, paste it here.",
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false", "autocapitalize": "characters"}),
    )
    reason = forms.CharField(max_length=MOST_REASON, required=False, label="Purpose of this version", widget=REASON)
    # What was read out of a PDF, and is believed no more for having been here before.
    settings = forms.CharField(required=False, max_length=LARGEST_BYTES, widget=forms.HiddenInput)

    def __init__(self, data: QueryDict | None = None, *args: Any, **kwargs: Any) -> None:
        if data is not None and "reason" not in data:  # its box is there once a sheet has been read
            data = data.copy()
            data["reason"] = RESTORED
        super().__init__(data, *args, **kwargs)

    def clean_reason(self) -> str:
        reason: str = self.cleaned_data["reason"]
        if "start" in self.data and not reason:
            raise forms.ValidationError("Fill this in.")
        return reason

    def clean(self) -> dict[str, Any]:
        typed = self.cleaned_data
        if typed.get("file") and typed.get("text"):
            self.add_error("text", "Choose the PDF or the text, not both.")
        elif not self.errors and not (typed.get("file") or typed.get("text") or typed.get("settings")):
            self.add_error("file", "Choose a PDF, or paste the text of the code.")
        return typed

    def sheet(self) -> dict[str, Any]:
        """What came in now; what was read before counts where nothing else came."""
        if self.cleaned_data["file"]:
            return {"pdf": self.cleaned_data["file"].read(LARGEST_PDF + 1)}
        if self.cleaned_data["text"]:
            return {"text": self.cleaned_data["text"]}
        return {"settings": self.cleaned_data["settings"]}
