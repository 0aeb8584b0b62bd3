"""A car, with the engine, distributor and coil it came with. Only what is known is filled in."""

import uuid

from django.core.validators import RegexValidator
from django.db import models
from django.utils import timezone

from garage.customers.models import Customer
from garage.lists.numbers import without_separators
from garage.quantities.limits import Between

CYLINDER_COUNTS = [1, 2, 3, 4, 5, 6, 8, 12]


def not_after_this_year(year: int) -> None:
    Between(1900, timezone.now().year)(year)


class EarthPolarity(models.TextChoices):
    NEGATIVE = "negative", "negative earth"
    POSITIVE = "positive", "positive earth"


class SystemVolts(models.IntegerChoices):
    SIX = 6, "6 V"
    TWELVE = 12, "12 V"


class Tachometer(models.TextChoices):
    NONE = "none", "none"
    COIL_CURRENT = "coil current", "driven by coil current"
    COIL_VOLTAGE = "coil voltage", "driven by coil voltage"
    MECHANICAL = "mechanical", "mechanical"


class Charging(models.TextChoices):
    """What charges the battery."""

    ALTERNATOR = "alternator", "alternator"
    DYNAMO = "dynamo", "dynamo"


class Vehicle(models.Model):
    """One car."""

    customer = models.ForeignKey(Customer, models.PROTECT, related_name="vehicles")
    registration = models.CharField(max_length=16)
    chassis_number = models.CharField(max_length=32, blank=True)
    maker = models.CharField("make", max_length=60)
    model = models.CharField(max_length=60)
    year = models.PositiveSmallIntegerField(null=True, blank=True, validators=[not_after_this_year])
    earth_polarity = models.CharField(max_length=8, choices=EarthPolarity, blank=True)
    system_volts = models.PositiveSmallIntegerField(choices=SystemVolts, null=True, blank=True)
    charging = models.CharField("charged by", max_length=12, choices=Charging, blank=True)
    tachometer = models.CharField(max_length=16, choices=Tachometer, blank=True)
    notes = models.TextField(blank=True, max_length=4000)
    made_at = models.DateTimeField()
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    row_version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        ordering = ["registration", "pk"]
        indexes = [
            models.Index(fields=["registration", "id"], name="cars_by_plate"),
            models.Index(without_separators("registration"), name="cars_by_bare_plate"),
        ]

    def __str__(self) -> str:
        return f"{self.name_and_year} · {self.registration}"

    @property
    def name(self) -> str:
        return f"{self.maker} {self.model}"

    @property
    def name_and_year(self) -> str:
        return f"{self.name} · {self.year}" if self.year else self.name


class Strokes(models.IntegerChoices):
    TWO = 2, "two-stroke"
    FOUR = 4, "four-stroke"


class Engine(models.Model):
    """The engine as its data and the bench give it."""

    vehicle = models.OneToOneField(Vehicle, models.CASCADE, related_name="engine")
    number = models.CharField("engine number", max_length=32, blank=True)
    family = models.CharField(max_length=60, blank=True)  # what the trade calls this engine, to find its like
    cylinders = models.PositiveSmallIntegerField(
        choices=[(count, str(count)) for count in CYLINDER_COUNTS], null=True, blank=True
    )
    strokes = models.PositiveSmallIntegerField("two- or four-stroke", choices=Strokes, default=Strokes.FOUR)
    bore_mm = models.FloatField("bore", null=True, blank=True, validators=[Between(30, 150, "mm")])
    stroke_mm = models.FloatField("stroke", null=True, blank=True, validators=[Between(30, 200, "mm")])
    rod_mm = models.FloatField("rod length", null=True, blank=True, validators=[Between(60, 400, "mm")])
    compression_ratio = models.FloatField(null=True, blank=True, validators=[Between(4, 20)])
    firing_order = models.CharField(
        max_length=40,
        blank=True,
        validators=[RegexValidator(r"^\d{1,2}(-\d{1,2})*$", "Enter the cylinders with hyphens, such as 1-3-4-2.")],
    )
    fuel_ron = models.FloatField("fuel octane (RON)", null=True, blank=True, validators=[Between(60, 115, "RON")])
    idle_rpm = models.FloatField("idle speed", null=True, blank=True, validators=[Between(300, 2000, "rpm")])
    red_line_rpm = models.FloatField("red line", null=True, blank=True, validators=[Between(1500, 12000, "rpm")])
    pulley_diameter_mm = models.FloatField(
        "diameter at the timing tape", null=True, blank=True, validators=[Between(50, 400, "mm")]
    )
    cap_terminals_even = models.BooleanField("cap terminals evenly spaced", null=True, blank=True)
    boosted = models.BooleanField("supercharged or turbocharged", default=False)


class TriggerKind(models.TextChoices):
    CONTACT_BREAKER = "contact breaker", "points"
    HALL = "hall", "Hall"
    OPTICAL = "optical", "optical"
    INDUCTIVE = "inductive", "inductive"


class TriggerPlace(models.TextChoices):
    """Where what triggers the fitted unit sits."""

    DISTRIBUTOR = "distributor", "in the distributor"
    CRANK_OR_CAMSHAFT = "crank or camshaft", "on the crank or camshaft"


class Rotation(models.TextChoices):
    CLOCKWISE = "clockwise", "clockwise, seen from the cap"
    ANTICLOCKWISE = "anticlockwise", "anticlockwise, seen from the cap"


class Distributor(models.Model):
    """The distributor and what its maker wanted of it. Advance figures in distributor degrees and distributor rpm."""

    vehicle = models.OneToOneField(Vehicle, models.CASCADE, related_name="distributor")
    number = models.CharField("distributor number", max_length=32, blank=True)
    rotation = models.CharField("direction", max_length=16, choices=Rotation, blank=True)
    trigger = models.CharField("trigger", max_length=16, choices=TriggerKind, blank=True)
    base_timing_deg = models.FloatField(
        "factory base timing", null=True, blank=True, validators=[Between(-10, 40, "degrees")]
    )
    # rows of [distributor rpm, lowest distributor degrees, highest distributor degrees]
    factory_band = models.JSONField(default=list, blank=True)
    capsule_start_kpa = models.FloatField(
        "vacuum capsule starts at [kPa]", null=True, blank=True, validators=[Between(0, 90, "kPa")]
    )
    capsule_full_kpa = models.FloatField(
        "vacuum capsule full at [kPa]", null=True, blank=True, validators=[Between(0, 95, "kPa")]
    )
    # in which they were written down; blank: before that was kept, and shown in the reader's own
    capsule_start_unit = models.CharField("capsule begins, written in", max_length=8, blank=True)
    capsule_full_unit = models.CharField("capsule full, written in", max_length=8, blank=True)
    capsule_full_deg = models.FloatField(
        "maximum vacuum advance", null=True, blank=True, validators=[Between(0, 25, "distributor degrees")]
    )
    dwell_deg = models.FloatField("dwell", null=True, blank=True, validators=[Between(5, 180, "distributor degrees")])
    rotor_tip_width_mm = models.FloatField("rotor tip width", null=True, blank=True, validators=[Between(1, 30, "mm")])
    rotor_tip_radius_mm = models.FloatField(
        "rotor tip radius", null=True, blank=True, validators=[Between(5, 60, "mm")]
    )
    post_width_mm = models.FloatField("cap terminal width", null=True, blank=True, validators=[Between(1, 20, "mm")])
    rotor_gap_mm = models.FloatField("rotor air gap", null=True, blank=True, validators=[Between(0.1, 5, "mm")])
    has_rotor = models.BooleanField("rotor and cap fitted", null=True, blank=True)
    # where they are not as many as the cylinders
    cap_posts = models.PositiveSmallIntegerField("cap terminals", null=True, blank=True, validators=[Between(2, 24)])
    trigger_place = models.CharField("place of the trigger", max_length=20, choices=TriggerPlace, blank=True)
    plate_moves = models.BooleanField("plate or pick-up can be moved", null=True, blank=True)
    rim_diameter_mm = models.FloatField(
        "diameter of the body's rim", null=True, blank=True, validators=[Between(20, 200, "mm")]
    )


class Coil(models.Model):
    """The ignition coil, with the ballast if the car has one. Resistances at 20 °C."""

    vehicle = models.OneToOneField(Vehicle, models.CASCADE, related_name="coil")
    primary_ohm = models.FloatField("primary resistance", null=True, blank=True, validators=[Between(0.1, 10, "ohm")])
    inductance_mh = models.FloatField("inductance", null=True, blank=True, validators=[Between(0.5, 50, "mH")])
    has_ballast = models.BooleanField("ballast resistor fitted", null=True, blank=True)
    ballast_ohm = models.FloatField("ballast resistance", null=True, blank=True, validators=[Between(0.1, 5, "ohm")])
    # past the ballast while the starter turns, so that the coil sees nearly the battery's voltage
    has_bypass = models.BooleanField("by-pass while cranking", null=True, blank=True)
    heat_limit_w = models.FloatField("coil dissipation, max", null=True, blank=True, validators=[Between(1, 200, "W")])
