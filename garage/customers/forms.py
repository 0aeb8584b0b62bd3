"""A customer's name and how to reach them."""

from django import forms

from garage.customers.models import Customer
from garage.site.editions import EditionForm
from garage.site.once import OnceForm

AREA = forms.Textarea(attrs={"rows": 3})


class CustomerFields(forms.ModelForm):
    """What both the new and the known customer have."""

    class Meta:
        model = Customer
        fields = ["name", "phone", "email", "address", "notes"]
        widgets = {"address": AREA, "notes": AREA}
        labels = {"phone": "Telephone", "email": "E-mail"}


class NewCustomerForm(OnceForm, CustomerFields):
    """A customer for the first time."""


class CustomerForm(EditionForm, CustomerFields):
    """A known customer."""
