"""Signing in, setting up, and the people of the workshop."""

from itertools import pairwise
from typing import Any

from django import forms
from django.contrib.auth import authenticate
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.validators import RegexValidator
from django.http import HttpRequest
from django.utils import timezone

from garage.people.models import Role, Staff, VacuumUnit, Workshop
from garage.people.queries import colleagues, people_with_pin, people_without_pin
from garage.people.set_up import is_the_code
from garage.quantities.typed import figures
from garage.record.row_versions import RowVersionForm
from garage.second_factor.queries import has_second_factor

PIN = RegexValidator(r"\A[0-9]{4,6}\Z", "A PIN has 4 to 6 digits.")
USERNAME = Staff._meta.get_field("username")


def password_field(label: str, **kwargs: Any) -> forms.CharField:
    return forms.CharField(
        label=label,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        **kwargs,
    )


def pin_field(label: str, **kwargs: Any) -> forms.CharField:
    return forms.CharField(
        label=label,
        min_length=4,
        max_length=6,
        validators=[PIN],
        widget=forms.PasswordInput(attrs={"inputmode": "numeric", "autocomplete": "off", "pattern": "[0-9]*"}),
        **kwargs,
    )


def not_easily_guessed(pin: str) -> None:
    """Refuses what people try first: 0000, 1234, 8765, 1212, 123123."""
    digits = [int(digit) for digit in pin if digit in "0123456789"]
    steps = {(after - before) % 10 for before, after in pairwise(digits)}
    repeats = any(pin == pin[:length] * (len(pin) // length) for length in (1, 2, 3))
    if repeats or steps in ({1}, {9}):
        raise ValidationError("Too easy to guess: no repeated digits and no digits in a row.")


class SignInForm(AuthenticationForm):
    """User name and password."""

    error_messages = {
        "invalid_login": "Wrong user name or password. Capitals count.",
        "inactive": "Wrong user name or password. Capitals count.",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "User name"

    def confirm_login_allowed(self, user: Staff) -> None:
        super().confirm_login_allowed(user)
        if user.first_password_until and user.first_password_until < timezone.now():
            raise ValidationError("This first password has expired. Ask the owner for a new one.")

    def clean_username(self) -> str:
        # No account has a longer name, and the list of failures keeps no longer one.
        if len(self.cleaned_data["username"]) > (USERNAME.max_length or 0):
            raise self.get_invalid_login_error()
        return self.cleaned_data["username"]


class SetUpForm(forms.Form):
    """The first page of an empty workshop."""

    code = forms.CharField(
        label="One-time code", help_text="Shown on the console where Crankmark was started.", max_length=20
    )
    workshop_name = forms.CharField(label="Workshop name", max_length=80)
    owner_name = forms.CharField(label="Your full name", max_length=80)
    username = forms.CharField(label="User name", max_length=150, validators=USERNAME.validators)
    password = password_field("Password", help_text="10 characters or more.")
    password_again = password_field("Password again")

    def clean_code(self) -> str:
        code = self.cleaned_data["code"]
        if not is_the_code(code):
            raise forms.ValidationError("This is not the code on the console.")
        return code

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        _check_new_password(
            self, cleaned, Staff(username=cleaned.get("username", ""), name=cleaned.get("owner_name", ""))
        )
        if cleaned.get("password") and cleaned["password"] != cleaned.get("password_again"):
            self.add_error("password_again", "The two passwords differ.")
        return cleaned


def _check_new_password(form: forms.Form, cleaned: dict[str, Any], person: Any, name: str = "password") -> None:
    if cleaned.get(name):
        try:
            validate_password(cleaned[name], person)
        except forms.ValidationError as problem:
            form.add_error(name, problem)


class NewPersonForm(forms.Form):
    """Somebody who is taken in."""

    name = forms.CharField(label="Full name", max_length=80)
    username = forms.CharField(label="User name", max_length=150, validators=USERNAME.validators)
    role = forms.ChoiceField(label="Role", choices=Role.choices, initial=Role.MECHANIC)
    password = password_field("First password", help_text="10 characters or more. They can change it under My account.")

    def clean_username(self) -> str:
        username = self.cleaned_data["username"]
        if Staff.objects.filter(username__iexact=username).exists():
            raise forms.ValidationError("This user name is taken.")
        return username

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        _check_new_password(self, cleaned, Staff(username=cleaned.get("username", ""), name=cleaned.get("name", "")))
        return cleaned


class PersonForm(RowVersionForm):
    """A person of the workshop, as the owner may change them."""

    name = forms.CharField(label="Full name", max_length=80)
    role = forms.ChoiceField(label="Role", choices=Role.choices)
    is_active = forms.BooleanField(label="may sign in", required=False)
    password = password_field("New password", required=False, help_text="Leave empty to keep the present one.")

    def __init__(self, *args: Any, person: Staff, **kwargs: Any) -> None:
        self.person = person
        super().__init__(*args, **kwargs)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        _check_new_password(self, cleaned, self.person)
        return cleaned


class AccountForm(forms.Form):
    """What a person sets for themselves. Their name stands under what they recorded: only the owner changes it."""

    vacuum_unit = forms.ChoiceField(label="Vacuum in", choices=VacuumUnit.choices)


class AgainstThePasswordForm(forms.Form):
    """What wants the password in use once more: a tablet left lying about must not change an account."""

    password = forms.CharField(
        label="Your password", strip=False, widget=forms.PasswordInput(attrs={"autocomplete": "current-password"})
    )

    def __init__(self, *args: Any, request: HttpRequest, **kwargs: Any) -> None:
        self.request = request
        super().__init__(*args, **kwargs)

    def username(self) -> str:
        """Of whose password is asked."""
        return self.request.user.get_username()

    def clean_password(self) -> str:
        password = self.cleaned_data["password"]
        # Asked as a sign-in is asked, so that guessing here is counted and stopped as it is there.
        if authenticate(self.request, username=self.username(), password=password) is None:
            raise forms.ValidationError("This is not your password.")
        return password


class NewPasswordForm(AgainstThePasswordForm):
    """A new password of one's own."""

    new_password = password_field("New password", help_text="10 characters or more.")
    new_password_again = password_field("New password again")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        _check_new_password(self, cleaned, self.request.user, "new_password")
        if cleaned.get("new_password") and cleaned["new_password"] != cleaned.get("new_password_again"):
            self.add_error("new_password_again", "The two passwords differ.")
        return cleaned


class PinForm(AgainstThePasswordForm):
    """A new bench PIN."""

    pin = pin_field("New PIN", help_text="4 to 6 digits, for the shared tablet.")
    pin_again = pin_field("PIN again")

    def clean_pin(self) -> str:
        not_easily_guessed(self.cleaned_data["pin"])
        return self.cleaned_data["pin"]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("pin") and cleaned["pin"] != cleaned.get("pin_again"):
            self.add_error("pin_again", "The two PINs differ.")
        return cleaned


class FirstPinForm(PinForm):
    """The first PIN of whoever stands at a tablet where somebody else may be signed in."""

    person = forms.ModelChoiceField(
        label="Person", queryset=Staff.objects.none(), widget=forms.RadioSelect, empty_label=None
    )

    field_order = ["person", "password", "pin", "pin_again"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["person"].queryset = people_without_pin()  # type: ignore[attr-defined]

    def clean_person(self) -> Staff:
        person: Staff = self.cleaned_data["person"]
        if has_second_factor(person):
            raise ValidationError("You have a second step. Sign in yourself, then set the PIN under My account.")
        if person.first_password_until and person.first_password_until < timezone.now():
            raise ValidationError("This first password has expired. Ask the owner for a new one.")
        return person

    def username(self) -> str:
        person = self.cleaned_data.get("person")
        if person is None:  # refused before; nothing is asked of anybody
            raise ValidationError("Choose the person first.")
        return person.get_username()


class SwitchForm(forms.Form):
    """Who is at the bench now."""

    person = forms.ModelChoiceField(
        label="Person", queryset=Staff.objects.none(), widget=forms.RadioSelect, empty_label=None
    )
    pin = pin_field("PIN")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["person"].queryset = people_with_pin()  # type: ignore[attr-defined]


class ColleagueForm(SwitchForm):
    """Another person beside whoever is signed in, for one act."""

    def __init__(self, *args: Any, beside: Staff, permission: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["person"].label = "Second check by"
        beside_them = colleagues(beside, permission)
        self.fields["person"].queryset = beside_them  # type: ignore[attr-defined]
        if len(only := beside_them[:2]) == 1:  # nobody to choose from
            self.initial.setdefault("person", only[0])


class WorkshopForm(RowVersionForm, forms.ModelForm):
    """The workshop's own data and its limits of practice."""

    class Meta:
        model = Workshop
        formfield_callback = figures
        fields = [
            "name",
            "address",
            "phone",
            "email",
            "altitude_m",
            "currency",
            "hourly_rate",
            "strobe_tolerance_deg",
            "full_load_limit_deg",
            "total_limit_deg",
            "cranking_limit_deg",
            "over_red_line_percent",
            "most_retard_deg",
            "least_advance_deg",
            "clamp_tolerance_deg",
            "mark_tolerance_deg",
            "compression_spread_percent",
            "least_sweep_speeds",
            "recheck_km",
            "recheck_months",
            "works_alone",
            "alone_pause_min",
            "timer_hours",
            "pin_tries",
            "keep_bills_years",
        ]
        labels = {
            "strobe_tolerance_deg": "Strobe tolerance",
            "full_load_limit_deg": "Full-load advance limit",
            "total_limit_deg": "Total advance limit",
            "cranking_limit_deg": "Cranking advance limit",
            "over_red_line_percent": "Rev limit above the red line",
            "most_retard_deg": "Largest suggested retard",
            "least_advance_deg": "Least full-load advance suggested",
            "clamp_tolerance_deg": "Shift allowed after clamping",
            "mark_tolerance_deg": "Mark tolerance",
            "compression_spread_percent": "Compression spread allowed",
            "least_sweep_speeds": "Strobe sweep, speeds at least",
            "works_alone": "One person works alone here",
            "alone_pause_min": "Pause before a second check of own work",
            "timer_hours": "A timer asks for its end after",
            "pin_tries": "Wrong PINs before a wait",
        }
        help_texts = {
            "altitude_m": "Height above sea level. Vacuum and compression limits depend on it.",
            "full_load_limit_deg": "Above this a map cannot be released. Common practice, no source.",
            "total_limit_deg": "Above this a map is refused. Common practice, no source.",
            "cranking_limit_deg": "Above this the engine may kick back. Common practice, no source.",
            "over_red_line_percent": "Above this a map cannot be released; below it is a caution. Common practice, no "
            "source.",
            "most_retard_deg": "For one point and road test. Common practice, no source.",
            "least_advance_deg": "A suggestion after pinking stays at or above it. Common practice, no source.",
            "works_alone": "Second checks may be by the same person, read again. The papers say so.",
            "timer_hours": "Also after midnight. Common practice, no source.",
            "pin_tries": "The first wait is 5 min, each further one is longer.",
        }
        widgets = {"address": forms.Textarea(attrs={"rows": 3})}

    UNITS = {
        "altitude_m": "m",
        "strobe_tolerance_deg": "°",
        "full_load_limit_deg": "°",
        "total_limit_deg": "°",
        "cranking_limit_deg": "°",
        "over_red_line_percent": "%",
        "most_retard_deg": "°",
        "least_advance_deg": "°",
        "clamp_tolerance_deg": "°",
        "mark_tolerance_deg": "°",
        "compression_spread_percent": "%",
        "recheck_km": "km",
        "recheck_months": "months",
        "alone_pause_min": "min",
        "timer_hours": "h",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, unit in self.UNITS.items():
            self.fields[name].unit = unit  # type: ignore[attr-defined]
