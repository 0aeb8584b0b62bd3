"""Choosing what of the week is shown, moving a car, and the usual hours."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django import forms

from garage.people.models import Staff
from garage.people.queries import mechanics
from garage.quantities.days import DayInput
from garage.quantities.typed import ExactField
from garage.record.idempotency import IdempotentForm
from garage.record.row_versions import RowVersionForm
from jobs.costs.models import HOURS_AT_FIRST
from jobs.job.forms import offer_people_and_bays, refuse_days
from jobs.job.models import Job, JobKind

# Days of which a calendar can still show the week.
FIRST_DAY, LAST_DAY = date(1900, 1, 8), date(2999, 12, 1)


class ShownForm(forms.Form):
    """Whose cars are shown, and of which kind of job."""

    person = forms.ModelChoiceField(
        label="Person", queryset=Staff.objects.none(), required=False, empty_label="everyone"
    )
    kind = forms.ChoiceField(
        label="Kind of job", choices=[("", "every kind"), *JobKind.choices], required=False
    )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["person"].queryset = mechanics()  # type: ignore[attr-defined]

    def person_chosen(self) -> Staff | None:
        return self.cleaned_data.get("person") if self.is_valid() else None

    def kind_chosen(self) -> str:
        return self.cleaned_data["kind"] if self.is_valid() else ""

    @property
    def is_part(self) -> bool:
        return bool(self.person_chosen() or self.kind_chosen())

    @property
    def in_words(self) -> str:
        """What is shown, such as 'everyone, every kind'."""
        kinds = dict(self.fields["kind"].choices)  # type: ignore[attr-defined]
        return f"{self.person_chosen() or 'everyone'}, {kinds[self.kind_chosen()]}"


def day_asked(text: str, otherwise: date) -> date:
    """The day that an address names; `otherwise` where it names none that a calendar has."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return otherwise
    return day if FIRST_DAY <= day <= LAST_DAY - timedelta(days=7) else otherwise


class MoveForm(RowVersionForm, forms.ModelForm):
    """Other days, another mechanic or another bay for a car."""

    class Meta:
        model = Job
        fields = ["booked_for", "promised_for", "mechanic", "bay"]
        widgets = {"booked_for": DayInput(), "promised_for": DayInput()}
        labels = {"booked_for": "Day in", "promised_for": "Promised for"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer_people_and_bays(self)

    def clean(self) -> dict[str, Any]:
        typed: dict[str, Any] = super().clean() or {}
        refuse_days(self, typed)
        return typed

    def values(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in self._meta.fields or ()}


class UsualHoursForm(forms.Form):
    """How long a job of each kind usually takes."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for kind in HOURS_AT_FIRST:
            box = ExactField(
                label=kind.label.capitalize(), max_digits=5, decimal_places=2, min_value=Decimal(0),
                max_value=Decimal(200),
            )  # fmt: skip
            box.unit = "h"  # type: ignore[attr-defined]
            self.fields[kind.name.lower()] = box

    @staticmethod
    def initial_of(hours: dict[str, Decimal]) -> dict[str, Decimal]:
        return {kind.name.lower(): hours[kind] for kind in HOURS_AT_FIRST}

    def hours(self) -> dict[str, Decimal]:
        return {str(kind): self.cleaned_data[kind.name.lower()] for kind in HOURS_AT_FIRST}


class FeedForm(IdempotentForm):
    """Of whom a calendar feed is, and whether it names customers; the names are the owner's to give."""

    person = forms.ModelChoiceField(
        label="Of", queryset=Staff.objects.none(), required=False, empty_label="the whole yard"
    )  # fmt: skip
    with_names = forms.BooleanField(
        label="Name the customers",
        required=False,
        help_text="A calendar may lie on a computer outside the workshop. Without the tick it shows no names.",
    )

    def __init__(self, *args: Any, is_owner: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["person"].queryset = mechanics()  # type: ignore[attr-defined]
        if not is_owner:
            del self.fields["with_names"]
