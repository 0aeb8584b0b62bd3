"""Days as people type them: one that lies years away is a slip of the keys, such as 0026 or 2206 for 2026."""

from datetime import date, timedelta

# Sanity only: nothing in a workshop is planned, owed or billed that far from its day.
YEARS = 5
FURTHEST = timedelta(days=YEARS * 366)
TOO_FAR = f"Check the year: more than {YEARS} years from today."


def too_far(day: date | None, today: date) -> bool:
    """Whether `day` lies so far from `today` that somebody mistyped it."""
    return day is not None and abs(day - today) > FURTHEST
