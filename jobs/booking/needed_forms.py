"""The form of what the work needs to know of a car, with what a like car has filled in."""

from typing import Any

from django import forms
from django.http import QueryDict

from garage.quantities.words import plain
from garage.record.row_versions import RowVersionForm
from garage.units.models import FittedUnit
from garage.units.queries import on_the_shelf
from garage.vehicles.forms import DistributorForm, EngineForm
from garage.vehicles.models import Vehicle
from jobs.booking.needed import Column, LikeValue, facts_needed, lacks_unit, proposals, proposed_unit
from jobs.job.models import Job


class CarForm(RowVersionForm, forms.ModelForm):
    """What belongs to the car itself."""

    class Meta:
        model = Vehicle
        fields = ["system_volts"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["system_volts"]
        field.choices = [("", "not known"), *[choice for choice in field.choices if choice[0] != ""]]  # type: ignore[attr-defined]


class UnitOnShelfForm(forms.Form):
    """The unit that goes in."""

    unit = forms.ModelChoiceField(
        FittedUnit.objects.none(), label="Unit to fit", required=False, empty_label="choose later"
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["unit"].queryset = on_the_shelf()  # type: ignore[attr-defined]


class NeededForms:
    """The forms of the parts of a car, of each what the job needs and nobody has entered."""

    def __init__(self, data: QueryDict | None, job: Job, *, vacuum_unit: str, may_choose_unit: bool) -> None:
        self.columns = facts_needed(job)
        self.proposals = proposals(job.vehicle, self.columns)
        car = job.vehicle
        self.car = CarForm(data, instance=car, initial={"row_version": car.row_version, **self._proposed("")})
        self.parts: dict[str, forms.ModelForm] = {
            "engine": EngineForm(data, prefix="engine", instance=car.engine, initial=self._proposed("engine")),
            "distributor": DistributorForm(
                data,
                prefix="distributor",
                instance=car.distributor,
                initial=self._proposed("distributor"),
                vacuum_unit=vacuum_unit,
            ),
        }
        # Facts that were typed here while somebody else entered them: shown, for they have no box any more.
        self.entered_meanwhile: list[dict[str, str]] = []
        for part, form in {"": self.car, **self.parts}.items():
            self._only_what_is_needed(part, form)
        self.unit = UnitOnShelfForm(data, initial={"unit": proposed_unit(job)})
        if not (may_choose_unit and lacks_unit(job)):
            del self.unit.fields["unit"]

    def is_valid(self) -> bool:
        """Each is asked, so that each says what is wrong with it."""
        return not [form for form in (self.car, *self.parts.values(), self.unit) if not form.is_valid()]

    @property
    def chosen_unit(self) -> FittedUnit | None:
        unit: FittedUnit | None = self.unit.cleaned_data.get("unit")
        return unit

    def values(self, part: str = "") -> dict[str, Any]:
        """What was entered for `part` as its columns; what was left empty changes nothing."""
        form = self.parts[part] if part else self.car
        columns = {field.name for field in form._meta.model._meta.fields} - {"row_version"}
        return {
            name: value for name, value in form.cleaned_data.items() if name in columns and value not in (None, "", [])
        }

    def origin(self) -> str:
        """Which of the values stand as they do on a like car: for the trail of the car."""
        taken: dict[str, list[str]] = {}
        for (part, name), proposal in self.proposals.items():
            if self.values(part).get(name) == proposal.value:
                label = str((self.parts[part] if part else self.car).fields[name].label).lower()
                taken.setdefault(proposal.car.registration, []).append(label)
        said = "; ".join(f"{', '.join(labels)} as on {plate}" for plate, labels in taken.items())
        return f"Needed for the work: {said}" if said else ""

    def _proposed(self, part: str) -> dict[str, Any]:
        return {name: one.value for (of, name), one in self.proposals.items() if of == part}

    def _only_what_is_needed(self, part: str, form: forms.ModelForm) -> None:
        for name in list(form.fields):
            if name == "row_version":
                continue
            column: Column = (part, name)
            if column not in self.columns:
                self._note_entered_meanwhile(form, name)
                del form.fields[name]
            elif proposal := self.proposals.get(column):
                form.fields[name].help_text = _as_on(proposal)

    def _note_entered_meanwhile(self, form: forms.ModelForm, name: str) -> None:
        field, typed = form.fields[name], form.data.get(form.add_prefix(name), "")
        value = getattr(form.instance, name)
        in_words = plain(value) if isinstance(value, float) else value
        said = getattr(form.instance, f"get_{name}_display", lambda: in_words)()
        if typed and typed not in (str(value), str(said)):
            row = {"label": str(field.label), "value": str(said), "unit": getattr(field, "unit", "")}
            self.entered_meanwhile.append(row | {"source": f"You typed {typed}."})


def _as_on(proposal: LikeValue) -> str:
    return f"As on {proposal.car.registration}. Check it on this car."
