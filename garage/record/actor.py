"""Who, from where and when: what every change of the record carries."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # the ground names the people by Django's lazy reference alone
    from garage.people.models import Device, Staff


@dataclass(frozen=True, slots=True)
class Actor:
    """The person, the moment and the device under which a fact enters the record."""

    person: Staff
    at: datetime
    device: Device | None = None
