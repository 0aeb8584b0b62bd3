"""Who changed what of a customer, a car, a unit, a person or the workshop, and when: kept for ever, as a journal is."""

from django.db import models


class Change(models.Model):
    """One change of one thing. What it said before and says now, field by field in words."""

    thing_kind = models.CharField(max_length=20)  # the model's name, such as 'vehicle'
    thing = models.PositiveBigIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey("garage.Staff", models.PROTECT, related_name="+")
    device = models.ForeignKey("garage.Device", models.PROTECT, null=True, related_name="+")
    fields = models.JSONField()  # [{"label": "compression ratio", "before": "8.8", "after": "9"}]

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["thing_kind", "thing"], name="changes_of_one_thing")]

    def __str__(self) -> str:
        return "; ".join(
            f"{row['label']}: {row['before'] or 'nothing'} → {row['after'] or 'nothing'}" for row in self.fields
        )

    @property
    def text(self) -> str:
        """What a line of a journal says."""
        return str(self)


def kind_of(thing: models.Model) -> str:
    """The name under which the changes of `thing` are kept."""
    return str(thing._meta.model_name)
