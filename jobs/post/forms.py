"""A mail before it goes, and the texts with which mails begin."""

from collections.abc import Collection, Sequence
from typing import Any

from django import forms

from garage.mail.lines import one_line
from garage.record.idempotency import IdempotentForm
from garage.record.row_versions import RowVersionForm
from jobs.post.blanks import WordingError, check
from jobs.post.papers import Paper
from jobs.post.texts import FIRST_TEXTS

AREA = forms.Textarea(attrs={"rows": 12})


class WriteForm(IdempotentForm):
    """To whom, what it says, and which papers go along."""

    address = forms.EmailField(label="To", widget=forms.EmailInput(attrs={"autocomplete": "off"}))
    keep_address = forms.BooleanField(label="Keep as the customer's email", required=False, initial=True)
    papers = forms.MultipleChoiceField(label="Attached", widget=forms.CheckboxSelectMultiple)
    subject_line = forms.CharField(label="Subject", max_length=150, validators=[one_line])
    text = forms.CharField(label="Text", max_length=6000, widget=AREA)

    def __init__(self, *args: Any, papers: Sequence[Paper], knows_address: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._papers = {paper.stored_as: paper for paper in papers}
        self.fields["papers"].choices = [(paper.stored_as, paper.label) for paper in papers]  # type: ignore[attr-defined]
        if knows_address:
            del self.fields["keep_address"]
        if len(papers) == 1:  # nothing to choose
            del self.fields["papers"]

    def chosen_papers(self) -> list[Paper]:
        """The papers that were chosen, in their order."""
        chosen = self.cleaned_data.get("papers", list(self._papers))
        return [paper for stored_as, paper in self._papers.items() if stored_as in chosen]

    def clean_text(self) -> str:
        return str(self.cleaned_data["text"]).replace("\r\n", "\n")


class TextForm(RowVersionForm):
    """The text with which mails of a kind begin."""

    subject_line = forms.CharField(label="Subject", max_length=150, validators=[one_line])
    text = forms.CharField(label="Text", max_length=4000, widget=AREA)

    def __init__(self, *args: Any, kind: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._allowed: Collection[str] = FIRST_TEXTS[kind].blanks
        self.fields["text"].help_text = "In braces: " + ", ".join(f"{{{name}}}" for name in self._allowed) + "."

    def clean_subject_line(self) -> str:
        return self._checked(str(self.cleaned_data["subject_line"]))

    def clean_text(self) -> str:
        return self._checked(str(self.cleaned_data["text"]).replace("\r\n", "\n"))

    def _checked(self, text: str) -> str:
        try:
            check(text, self._allowed)
        except WordingError as problem:
            raise forms.ValidationError(str(problem)) from None
        return text
