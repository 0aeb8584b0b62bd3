"""Smallest valid things of the rooms of a job."""

import uuid

import factory
from django.utils import timezone
from factory.django import DjangoModelFactory

from garage.models import FittedUnit, UnitTypeRevision
from garage.units.capability import capability_of
from garage.units.examples import TERN
from jobs.models import MapVersion
from tests.factories import JobFactory, StaffFactory, UnitTypeFactory


class UnitTypeRevisionFactory(DjangoModelFactory):
    class Meta:
        model = UnitTypeRevision

    unit_type = factory.SubFactory(UnitTypeFactory)
    number = 1
    capability = factory.LazyFunction(lambda: capability_of(TERN))  # eight fixed nodes, whole degrees
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
    rev_limit_rpm = 6000.0
    author = factory.SubFactory(StaffFactory)
    made_at = factory.LazyFunction(timezone.now)


def released_version(actor, **kwargs):
    """A version that was released by the real action: with what the unit holds of it, and its seal."""
    from jobs.maps.actions import release

    version = MapVersionFactory(**kwargs)
    release(draft=version, row_version=version.row_version, actor=actor)
    return version


def proven_version(actor, **kwargs):
    """A released version that a clean read-back has proven in the unit of its job."""
    from jobs.job.actions import choose_unit

    version = released_version(actor, **kwargs)
    if version.job.unit is None:
        choose_unit(job=version.job, unit=FittedUnitFactory(revision=version.unit_revision), actor=actor)
    read_back_clean(version, actor)
    return version


def read_back_clean(version, actor) -> None:
    """The unit of the version's job shows every line as it was keyed in, after switching off and on."""
    from jobs.maps.actions import record_read_back
    from jobs.maps.unit_fit import lines_of

    record_read_back(
        fact_id=uuid.uuid4(),
        version=version,
        unit=version.job.unit,
        shown={line.position: line.value_text for line in lines_of(version)},
        power_cycled=True,
        actor=actor,
    )
