"""What every fact of a job carries: an id made where it was written, the person, the device, and two moments."""

from collections.abc import Iterable
from typing import TypeVar
from uuid import UUID

from django.db import models
from django.db.models import prefetch_related_objects


class RecordedFact(models.Model):
    """A fact that is appended and never overwritten. To correct one, append another that supersedes it.

    `id` is made on the device that writes, so that what is sent twice is one fact. Two people may correct the same
    fact without knowing of each other: both corrections stay, and are shown as a conflict.
    """

    id = models.UUIDField(primary_key=True, editable=False)
    by = models.ForeignKey("garage.Staff", models.PROTECT, related_name="+")
    device = models.ForeignKey("garage.Device", models.PROTECT, null=True, related_name="+")
    made_at = models.DateTimeField()
    received_at = models.DateTimeField()
    supersedes = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="successors")
    supersedes_id: UUID | None

    class Meta:
        abstract = True


class WithdrawableFact(RecordedFact):
    """A fact that can be taken back: by a successor of the same figures that is `withdrawn` (`append.withdraw`)."""

    withdrawn = models.BooleanField(default=False)

    class Meta:
        abstract = True


Fact = TypeVar("Fact", bound=RecordedFact)


def current(facts: Iterable[Fact]) -> list[Fact]:
    """Those that nobody has corrected or taken back. `facts` are all of their kind: what corrects is among them."""
    facts = list(facts)
    corrected = {fact.supersedes_id for fact in facts}
    return [fact for fact in facts if fact.pk not in corrected and not getattr(fact, "withdrawn", False)]


def with_people(facts: list[Fact]) -> list[Fact]:
    """The same facts, each with whoever wrote it: asked for together, and not again where that was done before."""
    prefetch_related_objects(facts, "by")
    return facts
