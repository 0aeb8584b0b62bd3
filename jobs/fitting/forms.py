"""What is typed on a sheet and in the lists it comes from."""

import re
import uuid
from typing import Any, Self

from django import forms

from garage.people.models import Staff
from garage.site.uploads import LARGEST_UPLOAD
from jobs.fitting.actions import LONGEST_WORDS
from jobs.fitting.models import ChecklistItem, ItemKind, Outcome
from jobs.fitting.photographs import PhotographRefusedError, Picture, prepared
from jobs.fitting.sheet import Line


class FigureField(forms.CharField):
    """A measured figure as people type it: with a point or a comma, and either minus sign."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off", "maxlength": "24"})

    def to_python(self, value: Any) -> float | None:  # type: ignore[override]
        typed = super().to_python(value)
        return None if not typed else figure_from(typed)


FIGURE = re.compile(r"-?([0-9]+[.,]?[0-9]*|[.,][0-9]+)")
# A thousand to one person, and one to another.
TWO_FIGURES = re.compile(r"-?[1-9][0-9]{0,2},[0-9]{3}")


def figure_from(typed: str) -> float:
    """The figure in `typed`. Raises ValidationError with a sentence if there is none, or one of two."""
    text = typed.strip().replace("−", "-")
    if TWO_FIGURES.fullmatch(text):
        whole, broken = text.replace(",", ""), text.replace(",", ".")
        raise forms.ValidationError(f"‘{text}’ could mean {whole} or {broken}. Write it as one of these.")
    if not FIGURE.fullmatch(text):
        raise forms.ValidationError(f"‘{typed}’ is no figure. Write it like 1.48.")
    return float(text.replace(",", "."))


class UuidList(forms.CharField):
    """Ids of entries, with commas between them."""

    def to_python(self, value: Any) -> list[uuid.UUID]:  # type: ignore[override]
        try:
            return [uuid.UUID(part) for part in (super().to_python(value) or "").split(",") if part]
        except ValueError:
            raise forms.ValidationError("Load the page again: it does not know what it corrects.") from None


class EntryForm(forms.Form):
    """One entry for one item; the same page without script as the tablet's queue with it."""

    id = forms.UUIDField(widget=forms.HiddenInput)
    replaces = UuidList(required=False, widget=forms.HiddenInput)
    outcome = forms.ChoiceField(choices=Outcome.choices, widget=forms.HiddenInput)
    note = forms.CharField(
        max_length=LONGEST_WORDS, required=False, label="Note", widget=forms.TextInput(attrs={"autocomplete": "off"})
    )

    def __init__(self, *args: Any, item: ChecklistItem, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.item = item
        match item.kind:
            case ItemKind.MEASURE:
                self.fields["measure"] = FigureField(required=False, label="Measured")
                self.fields["measure"].unit = item.unit  # type: ignore[attr-defined]
            case ItemKind.CHOICE:
                self.fields["choice"] = forms.ChoiceField(
                    choices=[(choice, choice) for choice in item.choices],
                    required=False,
                    label="Found",
                    widget=forms.RadioSelect,
                )
            case ItemKind.TEXT:
                self.fields["text"] = forms.CharField(max_length=LONGEST_WORDS, required=False, label="In words")
        self.fields["photograph"] = forms.FileField(
            required=False,
            label="Photograph",
            widget=forms.FileInput(
                attrs={"accept": "image/*", "capture": "environment", "data-largest": str(LARGEST_UPLOAD)}
            ),
        )

    def clean_photograph(self) -> Picture | None:
        upload = self.cleaned_data["photograph"]
        try:
            return prepared(upload) if upload else None
        except PhotographRefusedError as refusal:
            raise forms.ValidationError(str(refusal)) from None

    @classmethod
    def for_line(cls, line: Line, person: Staff) -> Self:
        """An empty form that knows what stands now, so that what it sends corrects that and nothing unseen."""
        current = line.current
        return cls(
            item=line.item,
            auto_id=f"{line.item.key}-%s",
            initial={
                "id": uuid.uuid4(),
                "replaces": ",".join(str(head.pk) for head in line.heads),
                "note": current.note if current else "",
            },
        )

    @property
    def value_field(self) -> forms.BoundField | None:
        name = {ItemKind.MEASURE: "measure", ItemKind.CHOICE: "choice", ItemKind.TEXT: "text"}.get(
            ItemKind(self.item.kind)
        )
        return self[name] if name else None
