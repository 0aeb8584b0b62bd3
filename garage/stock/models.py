"""What came into the stock of a counted part and what went out of it. Units have numbers and are counted there."""

from uuid import UUID, uuid5

from django.db import models

from garage.pricelist.models import PricedPart
from garage.record.facts import WithdrawableFact


class MoveKind(models.TextChoices):
    IN = "in", "bought in"
    USED = "used", "used on a job"
    COUNTED = "counted", "counted"


class StockMove(WithdrawableFact):
    """So many of a part in, or out (below nought). A stocktake is the difference to what the book had."""

    part = models.ForeignKey(PricedPart, models.PROTECT, related_name="moves")
    kind = models.CharField(max_length=8, choices=MoveKind)
    quantity = models.DecimalField(max_digits=8, decimal_places=2)
    note = models.CharField(blank=True, max_length=160)  # of a stocktake: why it differs; of a use: the job

    class Meta:
        ordering = ["made_at"]
        indexes = [models.Index(fields=["part", "made_at", "id"], name="moves_of_a_part")]
        constraints = [
            models.CheckConstraint(condition=~models.Q(kind="counted") | ~models.Q(note=""), name="stocktake_says_why"),
        ]


def use_id(line: UUID) -> UUID:
    """The id of the move that the line `line` of a job makes: the same however often it is sent."""
    return uuid5(line, "taken from stock")
