"""Who signed in, who tried, and what was changed about the people: what an owner looks through."""

from dataclasses import dataclass
from datetime import datetime

from axes.models import AccessFailureLog, AccessLog

from garage.people.models import Staff
from garage.record.models import TrailEntry, kind_of

SHOWN = 50


@dataclass(frozen=True, slots=True)
class SignIn:
    """One sign-in, or one try that failed. `person` is empty where no account has the name that was typed."""

    at: datetime
    person: str
    address: str


def latest_sign_ins() -> list[SignIn]:
    return _named(list(AccessLog.objects.order_by("-attempt_time")[:SHOWN]))


def latest_failures() -> list[SignIn]:
    """Names that are nobody's are not repeated: a password lands in the wrong box now and then."""
    return _named(list(AccessFailureLog.objects.order_by("-attempt_time")[:SHOWN]))


def _named(rows: list[AccessLog] | list[AccessFailureLog]) -> list[SignIn]:
    people = {person.username.lower(): person.name for person in Staff.objects.all()}
    return [
        SignIn(row.attempt_time, people.get((row.username or "").lower(), ""), row.ip_address or "") for row in rows
    ]


def latest_changes_of_people() -> list[TrailEntry]:
    found = TrailEntry.objects.filter(subject_kind=kind_of(Staff()))
    return list(found.select_related("by", "device").order_by("-at", "-pk")[:SHOWN])
