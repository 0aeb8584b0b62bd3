"""What stands in the book beside what somebody typed on an older page: shown, so that nothing is lost on either side."""

from typing import Any

from django import forms
from django.db import models


def renewed(form: forms.Form, edition: int) -> None:
    """Let a refused stale form be sent again on purpose: it now knows the edition that stands."""
    form.data = form.data.copy()  # type: ignore[attr-defined]
    form.data[form.add_prefix("edition")] = str(edition)  # type: ignore[index]


def standing(thing: models.Model, form: forms.BaseForm, names: list[str]) -> list[dict[str, Any]]:
    """The fields of `thing` that stand differently from what was typed, as rows for `_facts.html`."""
    rows = []
    for name in names:
        if getattr(thing, name) != form.cleaned_data.get(name):
            shown = getattr(thing, f"get_{name}_display", lambda name=name: getattr(thing, name))()
            rows.append({"label": str(form.fields[name].label), "value": str(shown if shown is not None else "")})
    return rows


STALE = "Somebody else changed this in the meantime. Both are shown: store again to put yours in place of theirs."
