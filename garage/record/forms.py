"""A form that writes a fact: it carries the fact's id, made when the page was shown, so that twice is once."""

import uuid
from typing import Any

from django import forms


class FactForm(forms.Form):
    """Adds the hidden id; without script it is made by the server that shows the page, with script by the tablet."""

    id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4)

    def values(self) -> dict[str, Any]:
        """What was typed, without the id."""
        return {name: value for name, value in self.cleaned_data.items() if name != "id"}


def sentences_of(form: forms.Form) -> list[str]:
    """What is wrong with what was typed, each with the label of its box: for those who do not see the form."""
    said = [str(error) for error in form.non_field_errors()]
    for name, errors in form.errors.items():
        if name in form.fields:
            label = form[name].label
            said += [f"{label}: {error}" if label and not form[name].is_hidden else str(error) for error in errors]
    return said
