"""When things were done in the demo's workshop: working days and clock times of the weeks before today."""

from datetime import datetime, time, timedelta

from django.utils import timezone

from garage.people.models import Device, Staff
from garage.record.actor import Actor

SATURDAY = 5


def moment(now: datetime, working_days_ago: int, clock: str) -> datetime:
    """That clock time of the working day so many back from `now`; never later than `now`."""
    day = timezone.localtime(now).date()
    for _ in range(working_days_ago):
        day -= timedelta(days=1)
        while day.weekday() >= SATURDAY:
            day -= timedelta(days=1)
    hours, minutes = (int(part) for part in clock.split(":"))
    wanted = datetime.combine(day, time(hours, minutes), tzinfo=timezone.get_current_timezone())
    return min(wanted, now)


class Shift:
    """One person at one device; every signature is given a few minutes after the one before."""

    def __init__(self, person: Staff, device: Device, begun: datetime, now: datetime) -> None:
        self.person = person
        self.device = device
        self.clock = begun
        self._now = now

    def sign(self, minutes: float = 3) -> Actor:
        self.clock = min(self.clock + timedelta(minutes=minutes), self._now)
        return Actor(person=self.person, at=self.clock, device=self.device)

    def beside(self, person: Staff) -> "Shift":
        """A colleague who steps up to the same device now."""
        return Shift(person, self.device, self.clock, self._now)
