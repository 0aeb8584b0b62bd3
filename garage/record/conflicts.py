"""What stands in the book beside what somebody typed on an older page: shown, so that neither side is lost."""

from typing import Any

from django import forms
from django.db import models

from garage.quantities.fields import MeasureField


def standing(thing: models.Model, form: forms.BaseForm, names: list[str]) -> list[dict[str, Any]]:
    """The fields of `thing` that stand differently from what was typed, as rows for `_facts.html`."""
    rows = []
    for name in names:
        field = form.fields.get(name)
        # What has no box of its own, such as the unit a measure was read in, is said with the measure.
        if field is not None and getattr(thing, name) != form.cleaned_data.get(name):
            shown = getattr(thing, f"get_{name}_display", lambda name=name: getattr(thing, name))()
            if isinstance(field, MeasureField) and shown is not None:
                shown = f"{field.prepare_value(shown)} {field.unit}"
            rows.append({"label": str(field.label), "value": str(shown if shown is not None else "")})
    return rows
