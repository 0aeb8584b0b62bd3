"""Working hours, days away, and bays."""

from typing import Any

from django import forms

from garage.people.models import Staff
from garage.quantities.days import day_field
from garage.quantities.typed import figures
from garage.record.idempotency import IdempotentForm
from garage.record.row_versions import RowVersionForm
from garage.rota.models import WEEKDAYS, WorkingWeek


class WorkingWeekForm(RowVersionForm, forms.ModelForm):
    """How long somebody works on cars on each weekday."""

    class Meta:
        model = WorkingWeek
        formfield_callback = figures
        fields = list(WEEKDAYS)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in WEEKDAYS:
            self.fields[name].unit = "h"  # type: ignore[attr-defined]

    def hours(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in WEEKDAYS}


class AbsenceForm(IdempotentForm):
    """Who is away, and from when to when."""

    person = forms.ModelChoiceField(label="Person", queryset=Staff.objects.filter(is_active=True))
    first_day = day_field("First day away")
    last_day = day_field("Last day away")

    def clean(self) -> dict[str, Any]:
        typed: dict[str, Any] = super().clean() or {}
        first, last = typed.get("first_day"), typed.get("last_day")
        if first and last and last < first:
            self.add_error("last_day", "The last day comes before the first.")
        return typed


class BayForm(IdempotentForm):
    """What a bay is called."""

    name = forms.CharField(label="Name of the bay", max_length=40)
