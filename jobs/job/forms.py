"""Booking a car, and what is said when a job moves."""

from typing import Any

from django import forms
from django.db.models import Q
from django.utils import timezone
from django.utils.text import capfirst

from garage.lists.numbers import bare
from garage.people.models import Staff
from garage.people.queries import mechanics
from garage.quantities.days import DayInput
from garage.record.idempotency import IdempotentForm
from garage.record.row_versions import RowVersionForm
from garage.rota.models import Bay
from garage.rota.queries import open_bays
from garage.units.models import FittedUnit
from garage.units.queries import on_the_shelf
from garage.vehicles.models import Vehicle
from garage.vehicles.plates import cars_with_plate
from jobs.job import planning
from jobs.job.models import Job, JobKind, Stage


class BookingForm(IdempotentForm, forms.ModelForm):
    """A new job: for a car that is known by its plate, or for one that is entered with it."""

    vehicle = forms.ModelChoiceField(Vehicle.objects.all(), required=False, widget=forms.HiddenInput)
    registration = forms.CharField(label="Registration", max_length=16, required=False, help_text="Finds a known car.")
    maker = forms.CharField(
        label="Make", max_length=40, required=False, help_text="Make, model and phone: for a new car."
    )
    model = forms.CharField(max_length=60, required=False)
    phone = forms.CharField(label="Customer's phone", max_length=40, required=False)
    name = forms.CharField(label="Customer's name", max_length=120, required=False)
    unit = forms.ModelChoiceField(
        FittedUnit.objects.none(), label="Unit to fit", required=False, empty_label="choose later"
    )

    field_order = [
        "registration", "maker", "model", "phone", "name", "kind", "wanted", "complaint", "booked_for",
        "promised_for", "mechanic", "bay", "unit", "odometer", "odometer_unit",
    ]  # fmt: skip

    class Meta:
        model = Job
        fields = [
            "kind", "wanted", "complaint", "booked_for", "promised_for", "mechanic", "bay", "odometer", "odometer_unit",
        ]  # fmt: skip
        widgets = {
            "booked_for": DayInput(),
            "promised_for": DayInput(),
            "wanted": forms.Textarea(attrs={"rows": 3}),
            "complaint": forms.Textarea(attrs={"rows": 3}),
        }
        labels = {"booked_for": "Day in", "promised_for": "Promised for", "odometer_unit": "Odometer in"}

    def __init__(self, *args: object, may_choose_unit: bool = False, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        offer_people_and_bays(self)
        self.fields["odometer_unit"].required = False
        self.fields["wanted"].required = False
        self.fields["wanted"].help_text = "Empty: the kind of job says it."
        if may_choose_unit and (units := on_the_shelf()):
            self.fields["unit"].queryset = units  # type: ignore[attr-defined]
        else:
            del self.fields["unit"]

    def clean_registration(self) -> str:
        return " ".join(self.cleaned_data["registration"].upper().split())

    def clean_odometer_unit(self) -> str:
        return self.cleaned_data["odometer_unit"] or "miles"

    def clean(self) -> dict[str, Any]:
        typed: dict[str, Any] = super().clean() or {}
        if not typed.get("wanted") and "wanted" not in self.errors and typed.get("kind"):
            typed["wanted"] = capfirst(JobKind(typed["kind"]).label)
        if typed.get("vehicle") is None and "vehicle" not in self.errors:
            typed["vehicle"] = self._car_by_plate(typed)
        if typed.get("odometer") is not None and not typed.get("booked_for"):
            typed["booked_for"] = timezone.localdate()  # its clock was read: it stands in the yard
        refuse_days(self, typed)
        return typed

    def _car_by_plate(self, typed: dict[str, Any]) -> Vehicle | None:
        """The one car of that plate; None for a new one, of which maker, model and phone are wanted then."""
        plate = typed.get("registration", "")
        if not bare(plate):
            self.add_error("registration", "Enter the registration.")
            return None
        found = list(cars_with_plate(plate)[:2])
        if len(found) > 1:
            self.add_error("registration", "Two cars have it. Book from the car's own page.")
        if found:
            return found[0]
        for field in ("maker", "model", "phone"):
            if not typed.get(field):
                self.add_error(field, "Needed for a new car.")
        return None


def offer_people_and_bays(form: forms.ModelForm) -> None:
    """Whoever may do the work and the bays that are open; a job keeps what it has. Without bays, none is asked."""
    people = Staff.objects.filter(Q(pk__in=mechanics().values("pk")) | Q(pk=form.instance.mechanic_id))
    form.fields["mechanic"].queryset = people  # type: ignore[attr-defined]
    bays = open_bays() | Bay.objects.filter(pk=form.instance.bay_id)
    form.fields["bay"].queryset = bays  # type: ignore[attr-defined]
    if not bays.exists():
        form.fields["bay"].widget = forms.HiddenInput()


def refuse_days(form: forms.ModelForm, typed: dict[str, Any]) -> None:
    """Say beside its field what is wrong with the days of a plan; one that is left as it was is not asked again."""
    if set(form.changed_data).isdisjoint(planning.DAYS):
        return
    days = planning.Days(**{name: typed.get(name) for name in planning.DAYS})
    before = planning.Days(form.initial.get("booked_for"), form.initial.get("promised_for"), None)
    for name, problem in planning.problems(days, today=timezone.localdate(), before=before).items():
        form.add_error(name, problem)


class BookingEditForm(RowVersionForm, forms.ModelForm):
    """What may still change about a booking."""

    class Meta:
        model = Job
        fields = [
            "wanted", "complaint", "booked_for", "promised_for", "mechanic", "bay", "odometer", "odometer_unit",
        ]  # fmt: skip
        widgets = {
            "booked_for": DayInput(),
            "promised_for": DayInput(),
            "wanted": forms.Textarea(attrs={"rows": 3}),
            "complaint": forms.Textarea(attrs={"rows": 3}),
        }
        labels = {"booked_for": "Day in", "promised_for": "Promised for", "odometer_unit": "Odometer in"}

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        offer_people_and_bays(self)

    def clean(self) -> dict[str, Any]:
        typed: dict[str, Any] = super().clean() or {}
        refuse_days(self, typed)
        return typed


class ReasonForm(forms.Form):
    """The owner's reason for letting a car pass a gate."""

    reason = forms.CharField(max_length=300, label="Reason", widget=forms.Textarea(attrs={"rows": 2}))


class HoldForm(forms.Form):
    """Why a job is put aside."""

    reason = forms.CharField(max_length=200, label="Reason")


class SendBackForm(forms.Form):
    """To which earlier stage, and why."""

    stage = forms.ChoiceField(label="Back to")
    reason = forms.CharField(max_length=300, label="Reason")

    def __init__(self, *args: object, earlier: list[Stage], **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.fields["stage"].choices = [(stage.value, stage.label) for stage in earlier]  # type: ignore[attr-defined]


class KindForm(forms.Form):
    """Which kind of job it is to be, and why."""

    kind = forms.ChoiceField(label="Kind of job", choices=JobKind.choices, widget=forms.RadioSelect)
    reason = forms.CharField(max_length=300, label="Reason")


class UnitForm(forms.Form):
    """Which unit goes into the car."""

    unit = forms.ModelChoiceField(queryset=FittedUnit.objects.none(), label="Unit")

    def __init__(self, *args: object, vehicle: Vehicle, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        free = FittedUnit.objects.filter(removed_at=None).select_related("revision__unit_type")
        self.fields["unit"].queryset = free.filter(vehicle=None) | free.filter(vehicle=vehicle)  # type: ignore[attr-defined]


class NoteForm(IdempotentForm):
    """A line for the journal."""

    words = forms.CharField(max_length=1000, label="Note", widget=forms.Textarea(attrs={"rows": 2}))
