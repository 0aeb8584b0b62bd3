"""Writing down that something was changed."""

from typing import Any

from django.db import models

from garage.quantities.words import plain
from garage.record.actor import Actor
from garage.record.models import Change, kind_of

Said = dict[str, str]


def said_of(thing: models.Model, names: list[str], prefix: str = "") -> Said:
    """What the fields `names` of `thing` say now, by their labels."""
    return {
        f"{prefix}{thing._meta.get_field(name).verbose_name}": _in_words(thing, name)  # type: ignore[union-attr]
        for name in names
    }


def _in_words(thing: models.Model, name: str) -> str:
    value: Any = getattr(thing, f"get_{name}_display", lambda: getattr(thing, name))()
    if value is None or value == []:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):  # the rows of an advance band
        return ", ".join(" ".join(plain(figure) for figure in row) for row in value)
    return plain(value) if isinstance(value, float) else str(value)


def note_change(thing: models.Model, *, before: Said, after: Said, actor: Actor) -> None:
    """Keep who changed `thing` and what of it; nothing where nothing differs."""
    rows = [
        {"label": label, "before": before[label], "after": now} for label, now in after.items() if before[label] != now
    ]
    if rows:
        Change.objects.create(
            thing_kind=kind_of(thing), thing=thing.pk, at=actor.at, by=actor.person, device=actor.device, fields=rows
        )
