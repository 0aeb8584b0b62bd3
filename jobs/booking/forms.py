"""The photographs of a booking: one from the camera, several from the device."""

from typing import Any

from django import forms

from garage.site.uploads import LARGEST_UPLOAD
from jobs.checklists.photographs import PhotographRefusedError, Picture, prepared
from jobs.job.forms import BookingEditForm, BookingForm

MOST_AT_ONCE = 12
TOO_MANY = f"At most {MOST_AT_ONCE} photographs at once. Add more by Edit booking."
_TAKES = {"accept": "image/*", "data-largest": str(LARGEST_UPLOAD)}


class SeveralFiles(forms.FileInput):
    """A box for several files."""

    allow_multiple_selected = True


class PhotographsField(forms.FileField):
    """Any number of photographs, each checked by its content and drawn again."""

    widget = SeveralFiles(attrs=_TAKES)

    def clean(self, data: Any, initial: Any = None) -> list[Picture]:
        uploads = [super(PhotographsField, self).clean(one, initial) for one in data or []]
        if len(uploads) > MOST_AT_ONCE:
            raise forms.ValidationError(TOO_MANY)
        try:
            return [prepared(one) for one in uploads if one]
        except PhotographRefusedError as refusal:
            raise forms.ValidationError(str(refusal)) from None


class WithPhotographs(forms.Form):
    """Two ways to a photograph: the camera takes one, the other box takes several that are there."""

    camera = PhotographsField(
        label="Take a photograph",
        required=False,
        widget=SeveralFiles(attrs=_TAKES | {"capture": "environment", "multiple": False}),
    )
    photographs = PhotographsField(
        label="Add photographs", required=False, help_text=f"At most {MOST_AT_ONCE}, and 25 MB together."
    )

    def pictures(self) -> list[Picture]:
        return [*self.cleaned_data.pop("camera"), *self.cleaned_data.pop("photographs")]


class BookingWithPhotographsForm(WithPhotographs, BookingForm):
    """A new job, with the car as it stands there."""


class BookingEditWithPhotographsForm(WithPhotographs, BookingEditForm):
    """What may still change about a booking, and more photographs."""
