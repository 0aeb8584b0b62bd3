"""The smallest valid things of the trade. Makes and people are invented."""

import uuid
from datetime import UTC, datetime

import factory
from django.contrib.auth.models import Group
from django.utils import timezone
from factory.django import DjangoModelFactory

from garage.models import (
    Coil,
    Customer,
    Device,
    Distributor,
    Engine,
    FittedUnit,
    Staff,
    UnitType,
    UnitTypeRevision,
    Vehicle,
    Workshop,
)
from jobs.job.models import JobSerial
from jobs.models import Job

LONG_AGO = datetime(2026, 1, 5, 9, 0, tzinfo=UTC)


class WorkshopFactory(DjangoModelFactory):
    class Meta:
        model = Workshop
        django_get_or_create = ("only",)

    only = 1
    name = "Lockgate Motor Works"
    set_up_at = LONG_AGO


class StaffFactory(DjangoModelFactory):
    class Meta:
        model = Staff
        skip_postgeneration_save = True

    username = factory.Sequence(lambda n: f"person{n}")
    name = factory.Sequence(lambda n: f"Person {n}")

    @factory.post_generation
    def role(self, create, extracted, **kwargs):
        if create and extracted:
            self.groups.set([Group.objects.get(name=extracted)])

    @factory.post_generation
    def password(self, create, extracted, **kwargs):
        if create:
            self.set_password(extracted or "a long workshop password")
            self.save()


class DeviceFactory(DjangoModelFactory):
    class Meta:
        model = Device

    name = "Tablet bay 1"
    first_seen = LONG_AGO


class CustomerFactory(DjangoModelFactory):
    class Meta:
        model = Customer

    name = factory.Sequence(lambda n: f"Customer {n}")
    made_at = LONG_AGO


class VehicleFactory(DjangoModelFactory):
    """A car of which nothing technical is known yet."""

    class Meta:
        model = Vehicle
        skip_postgeneration_save = True

    customer = factory.SubFactory(CustomerFactory)
    registration = factory.Sequence(lambda n: f"KLM {n:03d} B")
    maker = "Alder"
    model = "1500 saloon"
    made_at = LONG_AGO
    engine = factory.RelatedFactory("tests.factories.EngineFactory", factory_related_name="vehicle")
    distributor = factory.RelatedFactory("tests.factories.DistributorFactory", factory_related_name="vehicle")
    coil = factory.RelatedFactory("tests.factories.CoilFactory", factory_related_name="vehicle")


class EngineFactory(DjangoModelFactory):
    class Meta:
        model = Engine

    vehicle = factory.SubFactory(VehicleFactory, engine=None)


class DistributorFactory(DjangoModelFactory):
    class Meta:
        model = Distributor

    vehicle = factory.SubFactory(VehicleFactory, distributor=None)


class CoilFactory(DjangoModelFactory):
    class Meta:
        model = Coil

    vehicle = factory.SubFactory(VehicleFactory, coil=None)


class UnitTypeFactory(DjangoModelFactory):
    class Meta:
        model = UnitType

    name = factory.Sequence(lambda n: f"Unit type {n}")


class JobFactory(DjangoModelFactory):
    """A job as booked; its number comes from the same table as a real one."""

    class Meta:
        model = Job

    vehicle = factory.SubFactory(VehicleFactory)
    wanted = "Runs without the points, starts hot."
    made_at = factory.LazyFunction(timezone.now)
    made_by = factory.SubFactory(StaffFactory)

    @factory.lazy_attribute
    def code(self):
        serial, _ = JobSerial.objects.get_or_create(year=2026)
        serial.last += 1
        serial.save()
        return f"26-{serial.last:04d}"


def fact_of(actor) -> dict[str, object]:
    """The columns that every recorded fact carries, for factories and tests that write one directly."""
    return {
        "id": uuid.uuid4(),
        "by": actor.person,
        "device": actor.device,
        "made_at": actor.at,
        "received_at": actor.at,
    }


__all__ = [
    "CoilFactory",
    "CustomerFactory",
    "DeviceFactory",
    "DistributorFactory",
    "EngineFactory",
    "FittedUnit",
    "JobFactory",
    "StaffFactory",
    "UnitTypeFactory",
    "UnitTypeRevision",
    "VehicleFactory",
    "WorkshopFactory",
    "fact_of",
]
