"""Smallest valid things of the rooms of a job."""

import factory
from django.utils import timezone
from factory.django import DjangoModelFactory

from garage.models import FittedUnit, UnitTypeRevision
from jobs.models import MapVersion
from tests.factories import JobFactory, StaffFactory, UnitTypeFactory


class UnitTypeRevisionFactory(DjangoModelFactory):
    class Meta:
        model = UnitTypeRevision

    unit_type = factory.SubFactory(UnitTypeFactory)
    number = 1
    capability = factory.LazyFunction(dict)
    made_at = factory.LazyFunction(timezone.now)
    made_by = factory.SubFactory(StaffFactory)


class FittedUnitFactory(DjangoModelFactory):
    class Meta:
        model = FittedUnit

    revision = factory.SubFactory(UnitTypeRevisionFactory)
    serial_number = factory.Sequence(lambda n: f"S{n:04d}")
    made_at = factory.LazyFunction(timezone.now)


class MapVersionFactory(DjangoModelFactory):
    """A draft with nothing but a base timing and a short curve."""

    class Meta:
        model = MapVersion

    job = factory.SubFactory(JobFactory)
    number = 1
    origin = "typed in"
    reason = "first thought"
    unit_revision = factory.SubFactory(UnitTypeRevisionFactory)
    base_deg = 8.0
    curve = factory.LazyFunction(lambda: [[800, 0], [3000, 18]])
    author = factory.SubFactory(StaffFactory)
    made_at = factory.LazyFunction(timezone.now)
