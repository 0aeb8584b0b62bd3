"""A form that is sent twice makes one thing: it carries an id made when the page was shown."""

import uuid

from django import forms


class OnceForm(forms.Form):
    """Adds the hidden id. The model that is made keeps it in a unique column, and the action looks there first."""

    once = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4)
