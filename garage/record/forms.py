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
