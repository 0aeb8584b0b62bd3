"""What stands in the book beside what somebody typed on an older page: shown, so that neither side is lost."""

from typing import Any

from django import forms
from django.db import models


def standing(thing: models.Model, form: forms.BaseForm, names: list[str]) -> list[dict[str, Any]]:
    """The fields of `thing` that stand differently from what was typed, as rows for `_facts.html`."""
    rows = []
    for name in names:
        if getattr(thing, name) != form.cleaned_data.get(name):
            shown = getattr(thing, f"get_{name}_display", lambda name=name: getattr(thing, name))()
            rows.append({"label": str(form.fields[name].label), "value": str(shown if shown is not None else "")})
    return rows


STALE = "Someone else changed this meanwhile. Both are shown. Save again to keep yours."
