"""The people of the workshop, the devices they write from, and the workshop itself."""

import uuid
from typing import Any

from django.contrib.auth.models import AbstractUser
from django.contrib.sessions.base_session import AbstractBaseSession
from django.db import models
from django.db.models.functions import Lower

from garage.quantities.limits import Between

# Four digits typed at a shared tablet open the record of a car, but not the workshop, what it works by, or a gate.
NEEDS_THE_PASSWORD = frozenset(
    f"garage.{permission}"
    for permission in ("manage_workshop", "edit_checklists", "edit_unit_types", "import_lists", "pass_gates")
)


class Role(models.TextChoices):
    """The names of the Django groups that carry the permissions."""

    OWNER = "owner", "Owner"
    MECHANIC = "mechanic", "Mechanic"
    FRONT_DESK = "front desk", "Front desk"


class VacuumUnit(models.TextChoices):
    KPA = "kPa", "kPa"
    INHG = "inHg", "inHg"
    MMHG = "mmHg", "mmHg"
    MBAR = "mbar", "mbar"


class SecondFactorFor(models.TextChoices):
    """Of whom the workshop requires a second factor."""

    NOBODY = "nobody", "Nobody"
    OWNERS = "owners", "Owners"
    EVERYBODY = "everybody", "Everybody"


class Staff(AbstractUser):
    """One person with an account. On a shared tablet the bench PIN says who is writing."""

    first_name = None  # type: ignore[assignment]
    last_name = None  # type: ignore[assignment]
    name = models.CharField("full name", max_length=80)
    vacuum_unit = models.CharField("vacuum in", max_length=8, choices=VacuumUnit, default=VacuumUnit.KPA)
    bench_pin = models.CharField(max_length=128, blank=True, editable=False)  # hashed, never the PIN itself
    pin_failures = models.PositiveSmallIntegerField(default=0, editable=False)
    pin_locked_until = models.DateTimeField(null=True, blank=True, editable=False)
    # until when a password that somebody else chose opens the account; empty for one's own
    first_password_until = models.DateTimeField(null=True, blank=True, editable=False)
    row_version = models.PositiveIntegerField(default=1, editable=False)  # counts what owners changed about the person

    REQUIRED_FIELDS = ["name"]

    class Meta:
        ordering = ["name"]
        verbose_name_plural = "staff"
        constraints = [models.UniqueConstraint(Lower("username"), name="user_name_once_whatever_its_case")]
        permissions = [
            ("manage_workshop", "Can change the workshop, its people and its limits"),
            ("edit_checklists", "Can write check-list templates"),
            ("edit_unit_types", "Can describe unit types"),
            ("book_jobs", "Can book cars and write customers and vehicles"),
            ("import_lists", "Can bring in customers and cars from a list"),
            ("keep_costs", "Can write hours, parts and bills"),
            ("record_readings", "Can write measurements, fitting entries, maps and road notes"),
            ("pass_gates", "Can let a car go past a gate that is not met, with a reason"),
        ]

    def __str__(self) -> str:
        return self.name or self.username

    # Whether this person came in by PIN: said for each request by `garage.site.middleware`.
    by_pin = False

    # Permissions come from the role alone. Django keeps those of the person under this name once it has asked for them:
    # told beforehand that there are none, it does not ask at every page.
    _user_perm_cache: frozenset[str] = frozenset()

    def has_perm(self, perm: str, obj: models.Model | None = None) -> bool:
        """As Django says, except that a bench PIN alone opens nothing of `NEEDS_THE_PASSWORD`."""
        return not (self.by_pin and perm in NEEDS_THE_PASSWORD) and super().has_perm(perm, obj)

    def role_allows(self, permission: str) -> bool:
        """Whether the password would open it."""
        return super().has_perm(permission)

    def lacks_only_the_password(self, permission: str) -> bool:
        """Whether this person came in by PIN, and may do with the password what the PIN does not open."""
        return self.by_pin and permission in NEEDS_THE_PASSWORD and self.role_allows(permission)

    def get_full_name(self) -> str:
        return self.name

    def get_short_name(self) -> str:
        return self.name.split(" ")[0] if self.name else self.username


class Device(models.Model):
    """A browser that has written something: the tablet of a bay, the desk's computer, a phone."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    name = models.CharField(max_length=60)
    first_seen = models.DateTimeField()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class OpenSession(AbstractBaseSession):
    """A sign-in that lasts, under the hash of its key. Written by `garage.people.sessions` alone."""

    # what a page calls it by; opens nothing. A session whose key is renewed stands there twice for a moment
    name = models.UUIDField(db_index=True, editable=False)
    person = models.ForeignKey(Staff, on_delete=models.CASCADE, null=True, related_name="open_sessions")
    by_pin = models.BooleanField(default=False)
    last_used = models.DateTimeField()  # to the few minutes in which a visit is noted again

    class Meta(AbstractBaseSession.Meta):
        abstract = False
        verbose_name = "sign-in"
        verbose_name_plural = "sign-ins"

    @classmethod
    def get_session_store_class(cls) -> Any:
        from garage.people.sessions import SessionStore

        return SessionStore


class Workshop(models.Model):
    """The workshop: one row. Its practice limits carry no outside source and are therefore settings, not constants."""

    name = models.CharField(max_length=80)
    address = models.TextField(blank=True, max_length=500)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    altitude_m = models.FloatField("altitude", default=0, validators=[Between(-400, 5000, "m")])
    currency = models.CharField(max_length=3, default="GBP")
    hourly_rate = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)
    # `jobs/billing/numbers.py` says what # and YYYY stand for
    bill_numbers = models.CharField("form of bill numbers", max_length=20, default="YYYY-####")
    days_to_pay = models.PositiveSmallIntegerField(default=14, validators=[Between(0, 180, "days")])
    vat_number = models.CharField("VAT number", max_length=40, blank=True)
    bill_foot = models.TextField("at the foot of bills", blank=True, max_length=1000)
    # ISO 3166-1 alpha-2, for electronic invoices
    country = models.CharField(max_length=2, blank=True)
    # common practice, no source: what the law of the place says about quotes is asked of whoever does the books
    quote_days = models.PositiveSmallIntegerField(
        "quotes are valid for", default=30, validators=[Between(1, 365, "days")]
    )
    beyond_quote_percent = models.PositiveSmallIntegerField(
        "ask before a bill goes beyond the quote by", default=10, validators=[Between(0, 100, "%")]
    )
    strobe_tolerance_deg = models.FloatField(default=1.0, validators=[Between(0.1, 5, "degrees")])
    full_load_limit_deg = models.FloatField(default=38.0, validators=[Between(10, 60, "degrees")])
    total_limit_deg = models.FloatField(default=55.0, validators=[Between(20, 70, "degrees")])
    # a rev limit further above the red line than that is a stop; up to it a caution
    over_red_line_percent = models.FloatField(
        "rev limit above the red line", default=5.0, validators=[Between(0, 30, "%")]
    )
    cranking_limit_deg = models.FloatField(default=12.0, validators=[Between(0, 30, "degrees")])
    # what a proposal from the road takes from a point at most, and the total at full load that it leaves at least
    most_retard_deg = models.FloatField(default=4.0, validators=[Between(0.5, 10, "degrees")])
    least_advance_deg = models.FloatField(default=5.0, validators=[Between(-10, 30, "degrees")])
    clamp_tolerance_deg = models.FloatField(default=0.5, validators=[Between(0.1, 3, "degrees")])
    mark_tolerance_deg = models.FloatField(default=1.0, validators=[Between(0.1, 5, "degrees")])
    compression_spread_percent = models.FloatField(default=15.0, validators=[Between(1, 50, "%")])
    least_sweep_speeds = models.PositiveSmallIntegerField(default=6, validators=[Between(4, 30)])
    recheck_km = models.PositiveIntegerField("first re-check after", default=800, validators=[Between(50, 5000, "km")])
    recheck_months = models.PositiveSmallIntegerField(
        "later checks every", default=12, validators=[Between(1, 36, "months")]
    )
    # common practice, no source: what the law of the place asks for is asked of whoever does the books
    keep_bills_years = models.PositiveSmallIntegerField(
        "keep bills for", default=6, validators=[Between(0, 30, "years")]
    )
    works_alone = models.BooleanField("one person works alone here", default=False)
    # how long after their own work somebody who is alone may look at it again
    alone_pause_min = models.PositiveSmallIntegerField(
        "pause before own second check", default=20, validators=[Between(20, 1440, "min")]
    )
    # common practice, no source: nobody works longer than that at one thing
    timer_hours = models.PositiveSmallIntegerField(
        "a timer asks for its end after", default=14, validators=[Between(2, 24, "h")]
    )
    # Ten, and the waits that grow, stay far below the hundred tries an hour of OWASP ASVS 4.0, 2.2.1.
    pin_tries = models.PositiveSmallIntegerField("wrong PINs before a wait", default=5, validators=[Between(3, 10)])
    # the day on which somebody said to be alone, where otherwise more than one works
    alone_on = models.DateField(null=True, blank=True, editable=False)
    second_factor_for = models.CharField(
        "second factor required for", max_length=12, choices=SecondFactorFor, default=SecondFactorFor.NOBODY
    )
    set_up_at = models.DateTimeField()
    is_demo = models.BooleanField(default=False, editable=False)
    row_version = models.PositiveIntegerField(default=1, editable=False)
    # One row and no more: the only value the constraint allows, made unique.
    only = models.PositiveSmallIntegerField(default=1, unique=True, editable=False)

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(only=1), name="one_workshop")]

    def __str__(self) -> str:
        return self.name
