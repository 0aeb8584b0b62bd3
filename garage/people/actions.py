"""Setting the workshop up, and taking people in."""

from datetime import datetime
from typing import Any

from django.contrib.auth.models import Group
from django.db import IntegrityError, transaction

from garage.people import set_up as code
from garage.people.models import Role, Staff, Workshop


class AlreadySetUpError(Exception):
    """There is a workshop already; the set-up page works once."""


class StaffRuleError(Exception):
    """A change of staff that would leave the workshop without an owner."""


def set_up_workshop(*, workshop_name: str, owner_name: str, username: str, password: str, at: datetime) -> Staff:
    """Make the workshop and its owner's account, once."""
    try:
        with transaction.atomic():
            Workshop.objects.create(name=workshop_name, set_up_at=at)
            owner = take_in(name=owner_name, username=username, role=Role.OWNER, password=password)
    except IntegrityError as clash:
        raise AlreadySetUpError from clash
    code.forget_the_code()
    return owner


@transaction.atomic
def take_in(*, name: str, username: str, role: str, password: str) -> Staff:
    """A new person with an account."""
    person = Staff(name=name, username=username)
    person.set_password(password)
    person.save()
    person.groups.set([Group.objects.get(name=role)])
    return person


@transaction.atomic
def change_person(*, person: Staff, name: str, role: str, is_active: bool, password: str = "") -> None:
    """Change a person's name, role or password, or let them go. What they recorded stays theirs."""
    owners = Staff.objects.filter(groups__name=Role.OWNER, is_active=True)
    if not (is_active and role == Role.OWNER) and list(owners.select_for_update()) == [person]:
        raise StaffRuleError("The workshop needs at least one owner who can sign in.")
    person.name, person.is_active = name, is_active
    if password:
        person.set_password(password)
    person.save()
    person.groups.set([Group.objects.get(name=role)])


def change_workshop(*, workshop: Workshop, values: dict[str, Any]) -> None:
    for name, value in values.items():
        setattr(workshop, name, value)
    workshop.save(update_fields=list(values))
