"""A message of a tablet's queue: written down on the tablet, perhaps hours before it comes in."""

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.utils.dateparse import parse_datetime

from garage.record.refusals import RuleRefusedError


class MessageError(RuleRefusedError):
    """The message cannot be read. Says where."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One way to settle a question: the words of its button, and the fields with which the message is sent again."""

    words: str
    fields: dict[str, str]


class AskedFirstError(RuleRefusedError):
    """Not saved before its maker has settled a question, by one of `choices`."""

    def __init__(self, question: str, choices: Sequence[Choice]) -> None:
        super().__init__(question)
        self.choices = tuple(choices)


# No database keeps NUL in its words (PostgreSQL refuses it), and half of a surrogate pair is no character at all.
UNKEEPABLE = re.compile("[\x00\ud800-\udfff]")


LARGEST_COUNT = 999  # of items on one sheet


@dataclass(frozen=True, slots=True)
class QueuedMessage:
    """One message: its kind, its id, whose it is, what it is about, and the two moments of the tablet's own clock."""

    kind: str
    id: UUID
    maker: int
    key: str
    made_at: datetime
    sent_at: datetime
    body: dict[str, Any]

    @classmethod
    def read(cls, text: str | bytes) -> "QueuedMessage":
        try:
            body = json.loads(text)
            message = cls(
                kind=body["message"],
                id=UUID(body["id"]),
                maker=int(body["maker"]),
                key=str(body["item"]),
                made_at=_moment(body["madeAt"]),
                sent_at=_moment(body["sentAt"]),
                body=body,
            )
        except (KeyError, TypeError, ValueError, OverflowError, AttributeError, RecursionError) as problem:
            raise MessageError(f"This message cannot be read ({type(problem).__name__}).") from problem
        _refuse_unkeepable(message.key)
        return message

    def made_at_by_our_clock(self, *, received_at: datetime, begun_at: datetime) -> datetime:
        """When it was made, by the workshop's clock: a tablet's clock may be hours wrong, its intervals are not.

        Unless it was put right while the message waited: nothing is older than the work it belongs to, which began at
        `begun_at`.
        """
        waited = max(self.sent_at - self.made_at, timedelta(0))
        return received_at - min(waited, max(received_at - begun_at, timedelta(0)))

    def ids(self, name: str) -> list[UUID]:
        try:
            return [UUID(id) for id in self.body.get(name) or []]
        except (TypeError, ValueError, AttributeError) as problem:
            raise MessageError("This message does not say what it corrects.") from problem

    def id_of(self, name: str) -> UUID | None:
        try:
            return UUID(self.body[name]) if self.body.get(name) else None
        except (TypeError, ValueError, AttributeError) as problem:
            raise MessageError(f"{name} names no entry.") from problem

    def entry_id(self) -> UUID:
        """The entry that the message builds on."""
        id = self.id_of("entry")
        if id is None:
            raise MessageError("This message does not say to which entry it belongs.")
        return id

    def words(self, name: str) -> str:
        value = self.body.get(name) or ""
        if not isinstance(value, str):
            raise MessageError(f"{name} is no text.")
        _refuse_unkeepable(value)
        return value

    def figure(self, name: str) -> float | None:
        value = self.body.get(name)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise MessageError(f"{name} is no figure.")
        try:
            return float(value)
        except OverflowError as problem:
            raise MessageError(f"{name} is too large a figure.") from problem

    def count(self, name: str) -> int | None:
        value = self.body.get(name)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= LARGEST_COUNT:
            raise MessageError(f"{name} is no number of items.")
        return value

    def fields(self) -> dict[str, str]:
        """What was typed into a form, as it was typed: for the form of the same page to judge."""
        fields = self.body.get("fields")
        if not isinstance(fields, dict) or not all(isinstance(value, str) for value in fields.values()):
            raise MessageError("This message does not say what was typed.")
        for value in fields.values():
            _refuse_unkeepable(value)
        return fields


def _refuse_unkeepable(words: str) -> None:
    if UNKEEPABLE.search(words):
        raise MessageError("The text has a character that cannot be saved. Enter it again.")


def _moment(text: str) -> datetime:
    moment = parse_datetime(text)
    if moment is None or moment.tzinfo is None:
        raise ValueError("no moment")
    return moment
