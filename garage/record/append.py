"""Appending a fact to the record: once, whoever sends it how often."""

from collections.abc import Mapping
from typing import Any, TypeVar
from uuid import UUID, uuid5

from django.db import models

from garage.record.actor import Actor
from garage.record.facts import RecordedFact
from garage.record.idempotency import refuse_unless_same

Fact = TypeVar("Fact", bound=RecordedFact)


def append(
    model: type[Fact],
    *,
    id: UUID,
    actor: Actor,
    supersedes: Fact | None = None,
    in_force: Mapping[str, Any] | None = None,
    **values: Any,
) -> tuple[Fact, bool]:
    """The fact of that id, and whether it was new. A known id gives the fact as it was first written.

    `in_force` are the columns that nobody typed, such as the limits it is judged by: those of the first writing stay.

    Raises
    ------
    SentBeforeError
        If the id is known for other figures.
    """
    manager: models.Manager[Fact] = model._default_manager
    fact, is_new = manager.get_or_create(
        id=id,
        defaults={
            "by": actor.person,
            "device": actor.device,
            "made_at": actor.at,
            "received_at": actor.at,
            "supersedes": supersedes,
            **(in_force or {}),
            **values,
        },
    )
    if not is_new:
        refuse_unless_same(fact, values)
    return fact, is_new


def id_of_taking_back(fact: RecordedFact) -> UUID:
    """The id of the fact that takes `fact` back: always the same, so that taking back twice is once."""
    return uuid5(fact.pk, "taken back")
