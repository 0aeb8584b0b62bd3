"""Showing, setting up and requiring a second factor."""

from typing import Any

from django import forms
from django.contrib.auth import authenticate
from django.http import HttpRequest

from garage.people.forms import AgainstThePasswordForm
from garage.people.models import SecondFactorFor, Staff
from garage.people.second_step import answer_of
from garage.second_factor.queries import has_second_factor

WRONG = "This code or passkey is not right. Each code works once."


def code_field(label: str = "Code", **kwargs: Any) -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=20,
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "autocapitalize": "characters"}),
        **kwargs,
    )


class SecondStepForm(forms.Form):
    """A code of the phone or of the paper, or what a passkey signed."""

    code = code_field(required=False, help_text="From your phone, or one of your recovery codes.")
    passkey = forms.CharField(required=False, max_length=8000, widget=forms.HiddenInput)

    def __init__(self, *args: Any, request: HttpRequest, person: Staff, **kwargs: Any) -> None:
        self.request, self.person = request, person
        super().__init__(*args, **kwargs)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not self.errors and not _is_shown(self.request, self.person, cleaned):
            self.add_error("code", WRONG)
        return cleaned


def _is_shown(request: HttpRequest, person: Staff, typed: dict[str, Any]) -> bool:
    answer = answer_of(request, typed.get("code", ""), typed.get("passkey", ""))
    if not (answer.code or answer.passkey):
        return False
    return authenticate(request, username=person.username, second_step=answer) is not None


class ProofForm(AgainstThePasswordForm):
    """The password, and the second factor where there is one."""

    code = code_field(required=False, help_text="From your phone, or one of your recovery codes.")
    passkey = forms.CharField(required=False, max_length=8000, widget=forms.HiddenInput)

    def __init__(self, *args: Any, person: Staff, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person, self.wants_both = person, has_second_factor(person)
        if not self.wants_both:
            del self.fields["code"], self.fields["passkey"]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        # A code is not spent on a wrong password.
        if self.wants_both and not self.errors and not _is_shown(self.request, self.person, cleaned):
            self.add_error("code", WRONG)
        return cleaned


class TimeCodeForm(forms.Form):
    """The first code that the phone shows."""

    code = code_field("Code on your phone", help_text="6 digits. They change every 30 seconds.")


class PasskeyForm(forms.Form):
    """A new passkey, and what it is called in the list."""

    name = forms.CharField(label="Name", max_length=60, help_text="Such as: my phone, key on the key ring.")
    passkey = forms.CharField(required=False, max_length=20_000, widget=forms.HiddenInput)

    def clean_passkey(self) -> str:
        if not self.cleaned_data["passkey"]:
            raise forms.ValidationError("Your device gave no passkey. Try again.")
        return self.cleaned_data["passkey"]


class ReasonForm(forms.Form):
    """Why an owner does it for somebody else."""

    reason = forms.CharField(label="Reason", max_length=200, help_text="Such as: phone lost, called from home.")


class SecondFactorForForm(forms.Form):
    """Of whom the workshop requires a second factor."""

    second_factor_for = forms.ChoiceField(
        label="Second factor required for", choices=SecondFactorFor.choices, widget=forms.RadioSelect
    )
