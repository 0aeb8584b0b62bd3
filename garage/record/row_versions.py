"""Two people editing one thing: the second is refused and shown both, nothing is lost.

An editable model has an integer column `row_version`, raised by every edit. The form carries the
number it was filled from.
"""

from typing import Any

from django import forms
from django.db import models

from garage.record.refusals import NOT_WHOLE, RuleRefusedError

STALE = "Someone else changed this meanwhile. Both are shown. Save again to keep yours."


class StaleEditError(RuleRefusedError):
    """Somebody saved in between. `current` is the thing as it is now."""

    def __init__(self, current: models.Model) -> None:
        super().__init__(f"{current} was changed by someone else meanwhile")
        self.current = current


class RowVersionForm(forms.Form):
    """Adds the hidden row version to a form that edits."""

    row_version = forms.IntegerField(
        widget=forms.HiddenInput,
        # More than any thing was ever edited, and less than what a database takes for an integer.
        min_value=0,
        max_value=1_000_000_000,
        error_messages=dict.fromkeys(("required", "invalid", "min_value", "max_value"), NOT_WHOLE),
    )

    def refuse_as_stale(self, row_version: int) -> None:
        """Say that somebody else saved `row_version` meanwhile. The page shows that beside what was typed."""
        self.add_error(None, STALE)
        self.rebase_on(row_version)

    def rebase_on(self, row_version: int) -> None:
        """Keep what was typed, for the current `row_version`: to send it again is then a decision, not a slip."""
        typed = self.data.copy()  # type: ignore[attr-defined]
        typed[self.add_prefix("row_version")] = str(row_version)
        self.data = typed


def already_holds(thing: models.Model, values: dict[str, Any]) -> bool:
    """Whether `values` are what `thing` says already: a form that is sent twice is no clash of two people."""
    thing.refresh_from_db()
    return all(getattr(thing, name) == value for name, value in values.items())


def save_if_unchanged(thing: models.Model, *, row_version: int, values: dict[str, Any]) -> None:
    """Write `values` to `thing` if it is still at `row_version`, and raise `StaleEditError` if not.

    One conditional update: works alike on SQLite and PostgreSQL, without locks.
    """
    manager = type(thing)._default_manager
    won = manager.filter(pk=thing.pk, row_version=row_version).update(row_version=row_version + 1, **values)
    thing.refresh_from_db()
    if not won:
        raise StaleEditError(thing)
