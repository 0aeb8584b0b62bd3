"""A customer's name and how to reach them."""

from django import forms

from garage.customers.countries import country_choices
from garage.customers.models import Customer
from garage.record.idempotency import IdempotentForm
from garage.record.row_versions import RowVersionForm

AREA = forms.Textarea(attrs={"rows": 3})


class CustomerFields(forms.ModelForm):
    """What both the new and the known customer have."""

    country = forms.ChoiceField(label="Country", choices=country_choices, required=False)

    class Meta:
        model = Customer
        fields = ["name", "phone", "email", "address", "country", "notes", "no_reminders"]
        widgets = {"address": AREA, "notes": AREA}
        labels = {"phone": "Phone", "email": "Email", "no_reminders": "Said no to reminders"}


class NewCustomerForm(IdempotentForm, CustomerFields):
    """A customer for the first time."""


class CustomerForm(RowVersionForm, CustomerFields):
    """A known customer."""
