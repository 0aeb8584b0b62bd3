"""What was changed of a thing, newest first."""

from django.db import models

from garage.record.models import Change, kind_of

SHOWN = 20


def changes_of(thing: models.Model) -> list[Change]:
    """The latest changes of `thing`."""
    found = Change.objects.filter(thing_kind=kind_of(thing), thing=thing.pk)
    return list(found.select_related("by", "device")[:SHOWN])
