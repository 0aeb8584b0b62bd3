"""Setting the workshop up, adding people, and what changes about them."""

from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.hashers import make_password
from django.contrib.auth.models import Group
from django.db import IntegrityError, transaction
from django.utils import timezone

from garage.people import set_up as code
from garage.people.models import Role, SecondFactorFor, Staff, Workshop
from garage.people.open_sessions import OpenedBy, forget_sessions
from garage.people.queries import get_workshop
from garage.people.second_step import is_owed_by
from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.refusals import RuleRefusedError
from garage.record.row_versions import already_holds, save_if_unchanged
from garage.record.trail import Said, note_change, said_of
from garage.second_factor.queries import has_second_factor


class AlreadySetUpError(RuleRefusedError):
    """There is a workshop already; the set-up page works once."""


class StaffRuleError(RuleRefusedError):
    """A change of staff that would leave the workshop without an owner."""


# A password that the owner chose and told is good for so long; the person sets one of their own.
FIRST_PASSWORD_LASTS = timedelta(days=7)

NO_OWNER_LEFT = "At least one owner must be able to sign in."


def set_up_workshop(*, workshop_name: str, owner_name: str, username: str, password: str, at: datetime) -> Staff:
    """Make the workshop and its owner's account, once. Nobody is there yet to do it: the owner so made is the actor."""
    try:
        with transaction.atomic():
            Workshop.objects.create(name=workshop_name, set_up_at=at)
            owner = _with_account(name=owner_name, username=username, role=Role.OWNER, password=password)
            trail.write(Event.WORKSHOP_SET_UP, owner, f"{workshop_name} set up", actor=Actor(person=owner, at=at))
    except IntegrityError as clash:
        raise AlreadySetUpError("This workshop is set up already.") from clash
    code.forget_the_code()
    return owner


@transaction.atomic
def add_person(*, name: str, username: str, role: str, password: str, actor: Actor) -> Staff:
    """A new person with an account."""
    person = _with_account(name=name, username=username, role=role, password=password)
    _good_until(person, actor.at + FIRST_PASSWORD_LASTS)
    trail.write(Event.PERSON_ADDED, person, f"{name} added as {role}, user name {username}", actor=actor)
    return person


def _with_account(*, name: str, username: str, role: str, password: str) -> Staff:
    person = Staff(name=name, username=username)
    person.set_password(password)
    person.save()
    person.groups.set([Group.objects.get(name=role)])
    return person


@transaction.atomic
def change_person(
    *,
    person: Staff,
    row_version: int,
    name: str,
    role: str,
    is_active: bool,
    actor: Actor,
    password: str = "",
    session_key: str = "",
) -> None:
    """Change a person's name, role or password, or let them go. What they recorded stays theirs.

    A new password, another role or the end of signing in ends the person's sessions, but for `session_key`.

    Raises
    ------
    StaffRuleError
        If nobody would be left who may change the workshop.
    StaleEditError
        If another owner changed this person in the meantime: nobody lets a person in again unawares.
    """
    owners = Staff.objects.filter(groups__name=Role.OWNER, is_active=True)
    if not (is_active and role == Role.OWNER) and list(owners.select_for_update()) == [person]:
        raise StaffRuleError(NO_OWNER_LEFT)
    values = {"name": name, "is_active": is_active}
    stands = already_holds(person, values) and role_of(person) == role
    before = _said_of_person(person)
    if not stands:
        save_if_unchanged(person, row_version=row_version, values=values)
        person.groups.set([Group.objects.get(name=role)])
    after = _said_of_person(person)
    if password:
        _set_password(person, password)
        _good_until(person, None if person == actor.person else actor.at + FIRST_PASSWORD_LASTS)
        after["password"] = "changed"  # noqa: S105 - that it was, and never which
    if password or not is_active or after["role"] != before["role"]:
        forget_sessions(person, but=session_key)
    note_change(person, before=before, after=after, actor=actor)


def _said_of_person(person: Staff) -> Said:
    return {
        "full name": person.name,
        "role": role_of(person),
        "may sign in": "yes" if person.is_active else "no",
        "password": "",
    }


def role_of(person: Staff) -> str:
    """The name of the person's role; nothing for an account without one."""
    group = person.groups.first()
    return group.name if group else ""


@transaction.atomic
def set_password(*, person: Staff, password: str, actor: Actor, session_key: str = "") -> None:
    """From now on only this password opens the account; every session of the person but `session_key` ends."""
    _set_password(person, password)
    forget_sessions(person, but=session_key)
    _good_until(person, None)
    trail.write(Event.PASSWORD_CHANGED, person, "Password changed", actor=actor)


def _set_password(person: Staff, password: str) -> None:
    person.set_password(password)
    person.save(update_fields=["password"])


def _good_until(person: Staff, moment: datetime | None) -> None:
    person.first_password_until = moment
    person.save(update_fields=["first_password_until"])


@transaction.atomic
def set_vacuum_unit(*, person: Staff, unit: str, actor: Actor) -> None:
    """Show vacuum to `person` in `unit` from now on."""
    before = said_of(person, ["vacuum_unit"])
    Staff.objects.filter(pk=person.pk).update(vacuum_unit=unit)
    person.refresh_from_db()
    note_change(person, before=before, after=said_of(person, ["vacuum_unit"]), actor=actor)


@transaction.atomic
def set_pin(*, person: Staff, pin: str, actor: Actor) -> None:
    """From now on only this PIN signs `person` in at a shared tablet; what the old one opened ends.

    Wrong tries are forgotten.
    """
    person.bench_pin = make_password(pin)
    person.pin_failures = 0
    person.pin_locked_until = None
    person.save(update_fields=["bench_pin", "pin_failures", "pin_locked_until"])
    forget_sessions(person, opened_by=OpenedBy.PIN)
    trail.write(Event.PIN_CHANGED, person, "PIN changed", actor=actor)


@transaction.atomic
def say_alone_today(*, actor: Actor) -> None:
    """Nobody else is in the workshop today: second checks may be given by the same person. Twice is once."""
    workshop, today = get_workshop(), timezone.localdate(actor.at)
    if Workshop.objects.exclude(alone_on=today).filter(pk=workshop.pk).update(alone_on=today):
        trail.write(Event.ALONE_TODAY, workshop, f"{actor.person} works alone today", actor=actor)


@transaction.atomic
def change_workshop(*, workshop: Workshop, row_version: int, values: dict[str, Any], actor: Actor) -> None:
    """Raises `StaleEditError` if another owner changed the workshop in the meantime."""
    if already_holds(workshop, values):
        return
    before = said_of(workshop, list(values))
    save_if_unchanged(workshop, row_version=row_version, values=values)
    note_change(workshop, before=before, after=said_of(workshop, list(values)), actor=actor)


@transaction.atomic
def require_second_factor(*, whom: str, actor: Actor) -> None:
    """Require a second factor of `whom` from now on. Who has none is signed out, and sets one up at the next sign-in.

    Raises
    ------
    StaffRuleError
        If the owner who asks for it has none: somebody has to know that it works here.
    """
    workshop = Workshop.objects.select_for_update().get()
    if whom == workshop.second_factor_for:
        return
    if whom != SecondFactorFor.NOBODY and not has_second_factor(actor.person):
        raise StaffRuleError("Set up your own second factor first.")
    before = said_of(workshop, ["second_factor_for"])
    workshop.second_factor_for = whom
    workshop.row_version += 1
    workshop.save(update_fields=["second_factor_for", "row_version"])
    note_change(workshop, before=before, after=said_of(workshop, ["second_factor_for"]), actor=actor)
    for person in Staff.objects.filter(is_active=True):
        if is_owed_by(person):
            forget_sessions(person, opened_by=OpenedBy.PASSWORD)
