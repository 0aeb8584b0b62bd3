"""The demo's workshop and the people in it. All of them are invented."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from garage.people.actions import add_person, change_workshop, set_password, set_pin, set_up_workshop, set_vacuum_unit
from garage.people.models import Device, Role, Staff, VacuumUnit, Workshop
from garage.record.actor import Actor
from jobs.demo.diary import Shift, moment

WORKSHOP = "Saddle Yard Workshop"


@dataclass(frozen=True, slots=True)
class Account:
    name: str
    username: str
    role: str
    password: str
    pin: str
    vacuum_unit: VacuumUnit


# No secrets: they open nothing but invented data. The demo fills no folder that holds a real workshop, and its server
# answers this machine alone.
ACCOUNTS = (
    Account("Rowan Vale", "rowan", Role.OWNER, "brass-feeler-gauge", "4711", VacuumUnit.KPA),
    Account("Ines Marlow", "ines", Role.MECHANIC, "strobe-at-dusk", "2840", VacuumUnit.INHG),
    Account("Tam Okoro", "tam", Role.MECHANIC, "rotor-and-cap", "6093", VacuumUnit.KPA),
    Account("Bea Lindqvist", "bea", Role.FRONT_DESK, "kettle-is-on-twice", "1357", VacuumUnit.KPA),
)


@dataclass(frozen=True, slots=True)
class Crew:
    """The people and their devices, ready to be put to work on any day."""

    owner: Staff
    ines: Staff
    tam: Staff
    bea: Staff
    tablet: Device
    desk: Device
    now: datetime

    def at_the_bench(self, person: Staff, working_days_ago: int, clock: str) -> Shift:
        return Shift(person, self.tablet, moment(self.now, working_days_ago, clock), self.now)

    def at_the_desk(self, person: Staff, working_days_ago: int, clock: str) -> Shift:
        return Shift(person, self.desk, moment(self.now, working_days_ago, clock), self.now)


def open_the_workshop(now: datetime) -> Crew:
    """Set the workshop up as its owner would on the first page, and take the others in."""
    first_day = moment(now, 90, "08:00")
    owner, *others = ACCOUNTS
    staff = {
        owner.username: set_up_workshop(
            workshop_name=WORKSHOP,
            owner_name=owner.name,
            username=owner.username,
            password=owner.password,
            at=first_day,
        )
    }
    Workshop.objects.update(is_demo=True)
    opening = Actor(person=staff[owner.username], at=first_day)
    for account in others:
        staff[account.username] = add_person(
            name=account.name,
            username=account.username,
            role=account.role,
            password="a first password",  # noqa: S106 - as the owner would tell it; their own follows
            actor=opening,
        )
        own = Actor(person=staff[account.username], at=first_day)
        set_password(person=own.person, password=account.password, actor=own)
    for account in ACCOUNTS:
        person = staff[account.username]
        set_pin(person=person, pin=account.pin, actor=Actor(person=person, at=first_day))
        set_vacuum_unit(person=person, unit=account.vacuum_unit, actor=Actor(person=person, at=first_day))
    change_workshop(
        workshop=Workshop.objects.get(),
        row_version=1,
        actor=Actor(person=staff["rowan"], at=first_day),
        values={
            "address": "2 Saddle Yard\nNether Hatch",
            "phone": "01632 960142",
            "email": "bench@saddle-yard.example",
            "altitude_m": 120.0,
            "hourly_rate": Decimal("58.00"),
        },
    )
    return Crew(
        owner=staff["rowan"],
        ines=staff["ines"],
        tam=staff["tam"],
        bea=staff["bea"],
        tablet=Device.objects.create(name="Tablet, bay 2", first_seen=first_day),
        desk=Device.objects.create(name="Desk", first_seen=first_day),
        now=now,
    )
