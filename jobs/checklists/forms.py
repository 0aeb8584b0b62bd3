"""What is typed on a sheet and in the lists it comes from."""

import uuid
from typing import Any, Self

from django import forms

from garage.people.models import Staff
from garage.quantities.fields import MeasureField, MeasuringForm
from garage.quantities.typed import FigureField
from garage.site.uploads import LARGEST_UPLOAD
from jobs.checklists.measuring import beside_of, quantity_of, unit_for, units_of
from jobs.checklists.models import ChecklistItem, ItemKind, Outcome
from jobs.checklists.photographs import PhotographRefusedError, Picture, prepared
from jobs.checklists.refusals import LONGEST_WORDS
from jobs.checklists.sheet import Line


class UuidList(forms.CharField):
    """Ids of entries, with commas between them."""

    def to_python(self, value: Any) -> list[uuid.UUID]:  # type: ignore[override]
        try:
            return [uuid.UUID(part) for part in (super().to_python(value) or "").split(",") if part]
        except ValueError:
            raise forms.ValidationError("Reload the page.") from None


class PhotographField(forms.FileField):
    """One photograph from the camera; its value is the picture, drawn anew."""

    def __init__(self, **kwargs: Any) -> None:
        attrs = {"accept": "image/*", "capture": "environment", "data-largest": str(LARGEST_UPLOAD)}
        super().__init__(widget=forms.FileInput(attrs=attrs), **kwargs)

    def clean(self, data: Any, initial: Any = None) -> Picture | None:
        upload = super().clean(data, initial)
        try:
            return prepared(upload) if upload else None
        except PhotographRefusedError as refusal:
            raise forms.ValidationError(str(refusal)) from None


def add_measure(form: MeasuringForm, item: ChecklistItem, person: Staff) -> None:
    """Give `form` the boxes for the figure of `item`: with a choice of unit, and a second figure, where it has them."""
    if len(units_of(item)) > 1:
        form.fields["measure"] = MeasureField(
            quantity=quantity_of(item), unit=unit_for(item, person), unit_name="unit", choose=True, required=False,
            label="Measured",
        )  # fmt: skip
    else:
        form.fields["measure"] = FigureField(required=False, label="Measured", unit=item.unit)
    second = beside_of(item)
    if second:
        form.fields["beside"] = FigureField(required=False, label=second.label, unit=second.unit)


def choice_field(item: ChecklistItem) -> forms.ChoiceField:
    return forms.ChoiceField(
        choices=[(choice, choice) for choice in item.choices],
        required=False,
        label="Found",
        widget=forms.RadioSelect,
    )


class EntryForm(MeasuringForm, forms.Form):
    """One entry for one item; the same page without script as the tablet's queue with it."""

    id = forms.UUIDField(widget=forms.HiddenInput)
    replaces = UuidList(required=False, widget=forms.HiddenInput)
    outcome = forms.ChoiceField(choices=Outcome.choices, widget=forms.HiddenInput)
    confirms = forms.UUIDField(required=False, widget=forms.HiddenInput)
    note = forms.CharField(
        max_length=LONGEST_WORDS, required=False, label="Note", widget=forms.TextInput(attrs={"autocomplete": "off"})
    )

    def __init__(self, *args: Any, item: ChecklistItem, person: Staff, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.item = item
        match item.kind:
            case ItemKind.MEASURE:
                add_measure(self, item, person)
            case ItemKind.CHOICE:
                self.fields["choice"] = choice_field(item)
            case ItemKind.TEXT:
                self.fields["text"] = forms.CharField(max_length=LONGEST_WORDS, required=False, label="In words")
        self.fields["photograph"] = PhotographField(required=False, label="Photograph")

    @classmethod
    def for_line(cls, line: Line, person: Staff) -> Self:
        """An empty form that knows what stands now, so that what it sends corrects that and nothing unseen."""
        current = line.current
        return cls(
            item=line.item,
            person=person,
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

    @property
    def beside_field(self) -> forms.BoundField | None:
        """The second figure of a measure of two."""
        return self["beside"] if "beside" in self.fields else None
