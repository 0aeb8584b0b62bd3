"""The mail server as the owner types it, and where a test mail goes."""

import re
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator

from garage.mail.lines import one_line, plain_letters
from garage.mail.models import MailSettings, Security
from garage.record.row_versions import RowVersionForm

HOST = RegexValidator(re.compile(r"\A(\[[0-9A-Fa-f:.]+\]|[\w.-]+)\Z"), "A name such as mail.example, or an IP address.")
# With another of these the kept password would go to somebody else.
WHERE_THE_PASSWORD_GOES = ("server", "port", "security", "user_name")


class MailForm(RowVersionForm, forms.ModelForm):
    """Server, sender, and a password that is never shown again."""

    password = forms.CharField(
        label="Password",
        required=False,
        strip=False,
        max_length=256,
        validators=[one_line, plain_letters],
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    class Meta:
        model = MailSettings
        fields = ["in_use", "server", "port", "security", "user_name", "sender_address", "sender_name"]
        labels = {
            "in_use": "Send mail through this server",
            "server": "Server",
            "port": "Port",
            "security": "TLS",
            "user_name": "User name",
            "sender_address": "Sender's address",
            "sender_name": "Sender's name",
        }
        help_texts = {"server": "As your mail provider names it for outgoing mail (SMTP)."}

    field_order = ["in_use", "server", "port", "security", "user_name", "password", "sender_address", "sender_name"]

    def __init__(self, *args: Any, kept: MailSettings, **kwargs: Any) -> None:
        self.kept = kept
        super().__init__(*args, **kwargs)
        self.fields["server"].validators.append(HOST)
        self.fields["port"].validators += [MinValueValidator(1), MaxValueValidator(65535)]
        self.fields["user_name"].validators += [one_line, plain_letters]
        self.fields["sender_name"].validators.append(one_line)
        if kept.sealed_password:
            self.fields["password"].help_text = "One is kept. Leave empty to keep it."

    def clean_server(self) -> str:
        return str(self.cleaned_data["server"]).strip("[]")

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        if typed.get("in_use"):
            for name in ("server", "sender_address"):
                if name in typed and not typed[name]:
                    self.add_error(name, "Needed to send mail.")
        if typed.get("user_name"):
            self._check_password(typed)
        elif typed.get("password"):
            self.add_error("user_name", "A password needs a user name.")
        return typed

    def _check_password(self, typed: dict[str, Any]) -> None:
        if typed.get("security") == Security.NONE:
            self.add_error("security", "A password goes over TLS only. Choose STARTTLS or TLS.")
        goes_elsewhere = any(typed.get(name) != getattr(self.kept, name) for name in WHERE_THE_PASSWORD_GOES)
        if not typed.get("password") and "password" in typed and (goes_elsewhere or not self.kept.sealed_password):
            self.add_error("password", "Type the password: server or user name are new.")

    def values(self) -> dict[str, Any]:
        """What was typed, without the password."""
        return {name: self.cleaned_data[name] for name in self.Meta.fields}


class TrialForm(forms.Form):
    """Where a test mail goes."""

    to = forms.EmailField(label="Send a test mail to")
