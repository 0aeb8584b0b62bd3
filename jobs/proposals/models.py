"""What the road spoke for at the points of a map, what a person decided of it, and what each point rested on."""

from django.db import models

from garage.quantities.limits import Between
from garage.record.facts import RecordedFact
from jobs.job.models import Job
from jobs.maps.models import MapVersion
from jobs.roadtest.models import RoadNote, RoadRun
from timing.roadlog import Part


class MapPart(models.TextChoices):
    """Which part of a map a point belongs to."""

    REVS = Part.REVS, "speed curve"
    VACUUM = Part.VACUUM, "vacuum table"
    FULL_VACUUM = Part.FULL_VACUUM, "maximum vacuum advance"


class Decision(models.TextChoices):
    ACCEPT = "accept", "accept"
    CHANGE = "change", "change"
    REFUSE = "refuse", "refuse"


class Proposal(RecordedFact):
    """A proposal as it was decided: for which version, on which notes, and the draft that came of it.

    Without a draft every point of it was refused.
    """

    job = models.ForeignKey(Job, models.PROTECT, related_name="proposals")
    map_version = models.ForeignKey(MapVersion, models.PROTECT, related_name="proposals")
    draft = models.OneToOneField(MapVersion, models.PROTECT, null=True, blank=True, related_name="proposed_by")
    basis = models.CharField(max_length=64)  # hash of the points and the notes that the person saw

    class Meta:
        ordering = ["made_at"]


class ProposedPoint(models.Model):
    """One point of a proposal. Changes are degrees of crank, negative for less advance."""

    proposal = models.ForeignKey(Proposal, models.PROTECT, related_name="points")
    place = models.PositiveSmallIntegerField()  # in the order of `timing.roadlog.points_of`
    part = models.CharField(max_length=12, choices=MapPart)
    rpm = models.FloatField(null=True, blank=True, validators=[Between(0, 20000, "rpm")])
    vacuum_kpa = models.FloatField(null=True, blank=True, validators=[Between(-200, 100, "kPa")])
    before_deg = models.FloatField(validators=[Between(-90, 90, "degrees")])
    proposed_deg = models.FloatField(validators=[Between(-90, 90, "degrees")])
    decision = models.CharField(max_length=8, choices=Decision)
    change_deg = models.FloatField(validators=[Between(-90, 90, "degrees")])
    words = models.CharField(max_length=200, blank=True)  # why it was changed or refused

    class Meta:
        ordering = ["proposal", "place"]
        constraints = [
            models.UniqueConstraint(fields=["proposal", "place"], name="point_once_per_proposal"),
            models.CheckConstraint(
                condition=~models.Q(decision="refuse") | models.Q(change_deg=0), name="refused_point_changes_nothing"
            ),
            models.CheckConstraint(
                condition=~models.Q(decision="accept") | models.Q(change_deg=models.F("proposed_deg")),
                name="accepted_point_changes_as_proposed",
            ),
            models.CheckConstraint(
                condition=~models.Q(decision="change") | ~models.Q(words=""), name="changed_point_says_why"
            ),
        ]


class PointEvidence(models.Model):
    """What a point rested on: a note of the passenger, or what a log showed, and how much of it is this point's."""

    point = models.ForeignKey(ProposedPoint, models.PROTECT, related_name="evidence")
    note = models.ForeignKey(RoadNote, models.PROTECT, null=True, blank=True, related_name="+")
    # whose note or log it is; none on what was decided before this was kept
    run = models.ForeignKey(RoadRun, models.PROTECT, null=True, blank=True, related_name="+")
    rpm = models.FloatField(validators=[Between(0, 20000, "rpm")])
    vacuum_kpa = models.FloatField(validators=[Between(-200, 100, "kPa")])
    severity = models.FloatField(validators=[Between(0, 3, "")])  # 0: it was fine
    confidence = models.FloatField(validators=[Between(0, 1, "")])
    lasted_s = models.FloatField(default=0, validators=[Between(0, 100_000, "s")])
    weight = models.FloatField(validators=[Between(0, 1, "")])

    class Meta:
        ordering = ["point", "pk"]
