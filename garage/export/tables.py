"""Which tables and columns make the open book, and what of them stays in the workshop."""

from collections.abc import Iterator

from django.apps import apps
from django.db import models

# The rooms whose tables are the book. What Django and others keep for themselves (sessions, tries to sign in) is not.
APPS = ("garage", "jobs")
# What opens something: it stays, and is made again where the book is brought in.
STAYS = {
    "garage_staff": frozenset(
        {
            "password",
            "bench_pin",
            "pin_failures",
            "pin_locked_until",
            "first_password_until",
            "last_login",
            "is_superuser",
            "is_staff",
        }
    ),
    "garage_mailsettings": frozenset({"sealed_password"}),
    "jobs_customerlink": frozenset({"token_sha256"}),
}
# Tables that are never part of a book: of what is only there while something is done, and of how somebody gets in.
NO_PART = frozenset(
    {
        "garage_backgroundworker",
        "garage_openerasing",
        "garage_opensession",
        "garage_passkey",
        "garage_recoverycode",
        "garage_timecode",
        "garage_waitinglist",
        "jobs_calendarfeed",
        "jobs_filetoremove",
        "jobs_linktry",
    }
)
LEFT_OUT = [
    "Passwords and PINs, also in hashed form: each person gets a new one.",
    "What opens a customer's link: links are listed, and open nothing after the book was brought in.",
    "Addresses that a calendar reads: they are made again.",
    "The password of the mail server: it is typed again.",
    "Second factors: time codes, passkeys and recovery codes are set up again.",
    "Sessions, tries to sign in with their addresses, the secret key and the certificates of the machine.",
]


def book_models() -> list[type[models.Model]]:
    """The models of the open book, in the order of their tables' names."""
    found = [model for app in APPS for model in apps.get_app_config(app).get_models()]
    found = [model for model in found if model._meta.db_table not in NO_PART]
    return sorted(found, key=lambda model: model._meta.db_table)


def book_fields(model: type[models.Model]) -> list[models.Field]:
    """The columns of `model` that belong into the open book, in their order."""
    stays = STAYS.get(model._meta.db_table, frozenset())
    return [field for field in model._meta.concrete_fields if field.name not in stays]


def file_fields(model: type[models.Model]) -> Iterator[models.FileField]:
    """The columns of `model` that name a photograph or paper."""
    for field in book_fields(model):
        if isinstance(field, models.FileField):
            yield field
