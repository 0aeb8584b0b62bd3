"""Who may give a second check: another person, or in a workshop of one the same person from a fresh start."""

from datetime import datetime, timedelta

from django.utils import timezone
from django.utils.formats import date_format

from garage.people.queries import get_workshop, works_alone
from garage.record.actor import Actor
from garage.record.refusals import RuleRefusedError

# A person who comes back sooner sees what they remember. The workshop may ask for more. Common practice, no source.
LEAST_PAUSE = timedelta(minutes=20)


class SecondCheckRefusedError(RuleRefusedError):
    """This person may not give the second check, or not yet. Says what would be needed."""


def may_come_back(at: datetime) -> bool:
    """Whether somebody may check their own work a second time, at that moment."""
    return works_alone(timezone.localdate(at))


def opens_at(done_at: datetime) -> datetime:
    """When the person whose own work ended at `done_at` may look again."""
    return done_at + max(LEAST_PAUSE, timedelta(minutes=get_workshop().alone_pause_min))


def pause_of_own(*, actor: Actor, done_at: datetime) -> timedelta:
    """How long after their own work, done at `done_at`, the actor looks again.

    Raises
    ------
    SecondCheckRefusedError
        If nobody works alone here today, or the pause was too short.
    """
    if not may_come_back(actor.at):
        raise SecondCheckRefusedError("Your own work: someone else must do the second check.")
    opens = opens_at(done_at)
    if actor.at < opens:
        clock = date_format(timezone.localtime(opens), "H:i")
        raise SecondCheckRefusedError(f"Too soon after your own work. Check again from {clock}.")
    return actor.at - done_at


def pause_in_words(seconds: int | None) -> str:
    """'same person, 3 h later' for a second check of one's own work; nothing for one by somebody else."""
    if seconds is None:
        return ""
    minutes = seconds // 60
    hours = minutes // 60
    days = hours // 24
    later = f"{days} d" if days > 1 else f"{hours} h" if hours > 1 else f"{minutes} min"
    return f"same person, {later} later"
