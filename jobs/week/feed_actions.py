"""Making the address under which a calendar reads the plan, and withdrawing it."""

import secrets
from uuid import UUID

from django.db import transaction

from garage.people.models import Staff
from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.refusals import RuleRefusedError
from jobs.documents.actions import hash_of
from jobs.week.models import CalendarFeed


class FeedRefusedError(RuleRefusedError):
    """This feed is not this person's to make or withdraw."""


@transaction.atomic
def make_feed(*, person: Staff | None, with_names: bool, idempotency_key: UUID, actor: Actor) -> str | None:
    """Make a feed of `person`, or of the whole yard, and return its token: now and never again.

    None for an `idempotency_key` that has made its feed already.

    Raises
    ------
    FeedRefusedError
        If customers are to be named, or it is the feed of somebody else or of the yard, and the actor is no owner.
    """
    is_owner = actor.person.has_perm("garage.manage_workshop")
    if not is_owner and (with_names or person != actor.person):
        raise FeedRefusedError("Only the owner makes a calendar of the yard, of others, or with names.")
    token = secrets.token_urlsafe(24)
    feed, is_new = CalendarFeed.objects.get_or_create(
        idempotency_key=idempotency_key,
        defaults={
            "person": person,
            "with_names": with_names,
            "token_sha256": hash_of(token),
            "made_at": actor.at,
            "made_by": actor.person,
        },
    )
    if not is_new:
        return None
    named = ", with customers' names" if with_names else ""
    trail.write(Event.FEED_MADE, feed, f"Address made for the {feed}{named}", actor=actor)
    return token


@transaction.atomic
def withdraw_feed(*, feed: CalendarFeed, actor: Actor) -> None:
    """Nobody reads this feed from now on. Twice is once.

    Raises
    ------
    FeedRefusedError
        If it is not the actor's own, and they are no owner.
    """
    if feed.person != actor.person and not actor.person.has_perm("garage.manage_workshop"):
        raise FeedRefusedError("Only the owner withdraws the calendar of the yard or of others.")
    if CalendarFeed.objects.filter(pk=feed.pk, revoked_at=None).update(revoked_at=actor.at):
        trail.write(Event.FEED_WITHDRAWN, feed, f"Address withdrawn of the {feed}", actor=actor)
