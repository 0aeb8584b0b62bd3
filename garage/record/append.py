"""Appending a fact to the record and taking one back: once, whoever sends it how often."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any, TypeVar
from uuid import UUID, uuid5

from django.db import models

from garage.record.actor import Actor
from garage.record.facts import RecordedFact, WithdrawableFact
from garage.record.idempotency import refuse_unless_same

Fact = TypeVar("Fact", bound=RecordedFact)
Withdrawable = TypeVar("Withdrawable", bound=WithdrawableFact)

_OF_EVERY_FACT = {field.attname for field in RecordedFact._meta.local_fields}


def append(
    model: type[Fact],
    *,
    id: UUID,
    actor: Actor,
    supersedes: Fact | None = None,
    in_force: Mapping[str, Any] | None = None,
    made_at: datetime | None = None,
    **values: Any,
) -> tuple[Fact, bool]:
    """The fact of that id, and whether it was new. A known id gives the fact as it was first written.

    `made_at` is when it was written down, for a fact that waited on a tablet; never later than it came in.

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
            "made_at": min(made_at or actor.at, actor.at),
            "received_at": actor.at,
            "supersedes": supersedes,
            **(in_force or {}),
            **values,
        },
    )
    if not is_new:
        refuse_unless_same(fact, values)
    return fact, is_new


def append_new(
    model: type[Fact],
    *,
    id: UUID,
    actor: Actor,
    supersedes: Fact | None = None,
    made_at: datetime | None = None,
    **values: Any,
) -> Fact:
    """As `append`, for a fact that its action has just looked for: written without looking for it again.

    Raises
    ------
    IntegrityError
        If the id was written at the same moment.
    """
    manager: models.Manager[Fact] = model._default_manager
    return manager.create(
        id=id,
        by=actor.person,
        device=actor.device,
        made_at=min(made_at or actor.at, actor.at),
        received_at=actor.at,
        supersedes=supersedes,
        **values,
    )


def withdraw(fact: Withdrawable, *, actor: Actor) -> bool:
    """Take `fact` back: append another of its kind that supersedes it, and say whether that was new.

    The first fact stays in the record and counts no more (`garage.record.facts.current`). Taking back twice is once:
    the id of the second fact follows from that of the first.
    """
    said = {field.attname: getattr(fact, field.attname) for field in fact._meta.concrete_fields}
    _, is_new = append(
        type(fact),
        id=uuid5(fact.pk, "taken back"),
        actor=actor,
        supersedes=fact,
        **{name: value for name, value in said.items() if name not in _OF_EVERY_FACT} | {"withdrawn": True},
    )
    return is_new
