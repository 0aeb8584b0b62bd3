"""Booking a car, and what is said when a job moves."""

from django import forms

from garage.record.idempotency import IdempotentForm
from garage.record.row_versions import RowVersionForm
from garage.units.models import FittedUnit
from garage.vehicles.models import Vehicle
from jobs.job.models import Job, JobKind, Stage

DAY = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class BookingForm(IdempotentForm, forms.ModelForm):
    """A new job for a car that is already known."""

    class Meta:
        model = Job
        fields = ["vehicle", "kind", "wanted", "complaint", "booked_for"]
        widgets = {
            "booked_for": DAY,
            "wanted": forms.Textarea(attrs={"rows": 3}),
            "complaint": forms.Textarea(attrs={"rows": 3}),
        }
        labels = {"vehicle": "Car", "booked_for": "Day in"}

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.fields["vehicle"].queryset = Vehicle.objects.select_related("customer")  # type: ignore[attr-defined]


class BookingEditForm(RowVersionForm, forms.ModelForm):
    """What may still change about a booking."""

    class Meta:
        model = Job
        fields = ["wanted", "complaint", "booked_for", "odometer", "odometer_unit"]
        widgets = {
            "booked_for": DAY,
            "wanted": forms.Textarea(attrs={"rows": 3}),
            "complaint": forms.Textarea(attrs={"rows": 3}),
        }
        labels = {"booked_for": "Day in", "odometer_unit": "Odometer in"}


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
