"""Counting in months."""

import calendar
from datetime import date


def months_later(day: date, months: int) -> date:
    """The same day of a later month, or its last one."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))
