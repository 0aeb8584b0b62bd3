"""The words in which forms refuse. Django's own speak of values and fields; whoever reads these holds a spanner.

Django keeps its words in a table on each class of field, which every field copies when it is made. The tables are
written here once, at the start, so that no form has to remember to: see `garage.apps`.

A message catalogue cannot hold them. It is asked by Django's sentence alone, and Django has one sentence for several
kinds of field: for 'This field is required.' the house says five different things, to a box, a tick, one choice,
several choices and a hidden id, and for 'Enter a list of values.' two.
"""

from typing import Any

from django import forms
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.core import validators

from garage.record.refusals import NOT_WHOLE

FIGURE = "Enter a figure, such as 12.5."
NOT_OFFERED = "Choose from the list."

OF_FIELDS: dict[type[forms.Field], dict[str, str]] = {
    forms.Field: {"required": "Fill this in."},
    forms.BooleanField: {"required": "Tick this first."},
    forms.ChoiceField: {"required": "Choose from the list.", "invalid_choice": NOT_OFFERED},
    forms.MultipleChoiceField: {
        "required": "Choose at least one.",
        "invalid_choice": NOT_OFFERED,
        "invalid_list": NOT_OFFERED,
    },
    forms.ModelChoiceField: {
        "required": "Choose from the list.",
        "invalid_choice": "Choose from the list. This is not available.",
    },
    forms.ModelMultipleChoiceField: {
        "required": "Choose at least one.",
        "invalid_choice": NOT_OFFERED,
        "invalid_list": NOT_OFFERED,
        "invalid_pk_value": NOT_OFFERED,
    },
    forms.IntegerField: {"invalid": "Enter a whole number, such as 4."},
    forms.FloatField: {"invalid": FIGURE},
    forms.DecimalField: {"invalid": FIGURE},
    forms.DateField: {"invalid": "Enter day, month and year, such as 14/05/2026."},
    forms.TimeField: {"invalid": "Enter hours and minutes, such as 14:05."},
    forms.DateTimeField: {"invalid": "Enter day and time, such as 14/05/2026 14:05."},
    forms.FileField: {
        "invalid": "No file arrived. Choose it again.",
        "missing": "No file arrived. Choose it again.",
        "empty": "This file is empty.",
        "max_length": "File name too long: at most %(max)d letters.",
        "contradiction": "Choose another file or remove the present file, not both.",
    },
    forms.ImageField: {"invalid_image": "This picture cannot be read."},
    forms.MultiValueField: {
        "invalid": "Fill in every box of this row.",
        "incomplete": "Fill in every box of this row.",
    },
    forms.UUIDField: {"required": NOT_WHOLE, "invalid": NOT_WHOLE},
    forms.JSONField: {"invalid": NOT_WHOLE},
}

OF_VALIDATORS: dict[type[Any], str] = {
    validators.RegexValidator: "Not a valid entry.",
    validators.EmailValidator: "Enter an email address, such as name@example.org.",
    validators.MinValueValidator: "At least %(limit_value)s.",
    validators.MaxValueValidator: "At most %(limit_value)s.",
    validators.MinLengthValidator: "At least %(limit_value)d characters; this has %(show_value)d.",
    validators.MaxLengthValidator: "At most %(limit_value)d characters; this has %(show_value)d.",
    validators.ProhibitNullCharactersValidator: "This has a character that cannot be saved. Enter it again.",
    UnicodeUsernameValidator: "Only letters, figures and @ . + - _, no spaces.",
}

# Of a figure with places after its point, such as money.
OF_DECIMALS = {
    "invalid": FIGURE,
    "max_digits": "At most %(max)s figures in all.",
    "max_decimal_places": "At most %(max)s places after the point.",
    "max_whole_digits": "At most %(max)s figures before the point.",
}


def install() -> None:
    """From now on every field that is made refuses in these words, unless its form has words of its own."""
    for kind, words in OF_FIELDS.items():
        # A table of the class's own: most share the one of the class above, and would change it too.
        kind.default_error_messages = {**vars(kind).get("default_error_messages", {}), **words}
    for validator, sentence in OF_VALIDATORS.items():
        validator.message = sentence
    validators.DecimalValidator.messages = {**validators.DecimalValidator.messages, **OF_DECIMALS}
