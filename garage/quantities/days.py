"""Days as people type them. One that lies years away is a slip of the keys, such as 0026 or 2206 for 2026."""

from datetime import date, timedelta
from typing import Any

from django import forms

# Sanity only: nothing in a workshop is planned, owed or billed that far from its day.
YEARS = 5
FURTHEST = timedelta(days=YEARS * 366)
TOO_FAR = f"Check the year: more than {YEARS} years from today."


def too_far(day: date | None, today: date) -> bool:
    """Whether `day` lies so far from `today` that somebody mistyped it."""
    return day is not None and abs(day - today) > FURTHEST


class DayInput(forms.DateInput):
    """The browser's own calendar, which reads and gives days as 2026-11-30 whatever the language."""

    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


def day_field(label: str, **kwargs: Any) -> forms.DateField:
    return forms.DateField(label=label, widget=DayInput(), **kwargs)
