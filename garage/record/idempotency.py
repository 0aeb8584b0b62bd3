"""A form that is sent twice makes one thing: it carries an id made when the page was shown."""

import uuid
from typing import Any

from django import forms
from django.db import models

from garage.record.refusals import RuleRefusedError


class IdempotentForm(forms.Form):
    """Adds the hidden id. The model that is made keeps it in a unique column, and the action looks there first."""

    idempotency_key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4)


class SentBeforeError(RuleRefusedError):
    """The same form again, but with something else in it: what it says now must not vanish into what it said first."""

    def __init__(self) -> None:
        super().__init__(
            "This page was sent before with other entries, which are kept. Reload it and enter this again."
        )


def refuse_unless_same(made: models.Model, values: dict[str, Any]) -> None:
    """Nothing if the form that made `made` came again with the same `values`.

    Raises
    ------
    SentBeforeError
        If it came back with others: the back button brings an old page and its old id to the front.
    """
    if any(getattr(made, name) != value for name, value in values.items()):
        raise SentBeforeError
