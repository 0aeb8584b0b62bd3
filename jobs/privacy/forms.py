"""What the owner decides about a customer who is to be forgotten."""

from typing import Any

from django import forms
from django.utils.html import format_html

from garage.customers.models import Customer
from garage.people.forms import AgainstThePasswordForm
from garage.record.idempotency import IdempotentForm
from jobs.privacy.held import HeldPhotograph, photographs_of


class ForgetForm(IdempotentForm, AgainstThePasswordForm):
    """The reason, what goes with the person, and the password once more."""

    reason = forms.CharField(label="Reason", max_length=300, help_text="The reason is kept: leave the name out of it.")
    plates = forms.BooleanField(
        label="Erase registration and chassis number too", required=False, help_text="Of every car of this customer."
    )
    photographs = forms.MultipleChoiceField(
        label="Photographs to erase",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Those with a face or a plate on them.",
    )
    words = forms.CharField(
        label="Other words that name the person",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="One a line, such as a nickname. Erased in the whole book, and kept nowhere.",
    )

    def __init__(self, *args: Any, customer: Customer, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["photographs"].choices = [  # type: ignore[attr-defined]
            (str(one.row.pk), _shown(one)) for one in photographs_of(customer)
        ]
        # Asked for last, when it is known what for.
        self.order_fields(["reason", "plates", "photographs", "words"])

    def clean_words(self) -> list[str]:
        return [line.strip() for line in self.cleaned_data["words"].splitlines() if line.strip()]


def _shown(photograph: HeldPhotograph) -> str:
    """The picture itself stands with its box: nobody knows by the words whose face is on it."""
    return format_html(
        '<img src="{}" alt="" loading="lazy" width="72" height="72"> <span>{}: {}, {}</span>',
        photograph.small,
        photograph.code,
        photograph.of,
        f"{photograph.row.made_at:%d %b %Y}",
    )
