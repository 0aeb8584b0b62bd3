"""A mechanic at the bench, and versions in their states. The room of the bench uses them too."""

import pytest

from garage.units.capability import capability_of
from garage.units.examples import FALLOW
from jobs.maps.models import MapVersion
from tests.factories import JobFactory
from tests.jobs_factories import MapVersionFactory, UnitTypeRevisionFactory, released_version
from tests.maps.versions import changed_in_the_database, fitted_for


@pytest.fixture
def at_the_bench(browser_of, mechanic):
    return browser_of(mechanic)


@pytest.fixture
def draft(db) -> MapVersion:
    return MapVersionFactory(job=JobFactory(stage="map"))


@pytest.fixture
def released(actor) -> MapVersion:
    return released_version(actor, job=JobFactory(stage="map"))


@pytest.fixture
def keyed_in(released, actor) -> MapVersion:
    """Keyed into the unit of its job and not read back yet."""
    return fitted_for(released, actor)


@pytest.fixture
def absolute(actor) -> MapVersion:
    """Released for a unit that counts from top dead centre: 8 degrees of base, 18 more at 3000 rpm."""
    revision = UnitTypeRevisionFactory(capability=capability_of(FALLOW))
    version = released_version(
        actor, job=JobFactory(stage="map"), unit_revision=revision, dwell_ms=3.0, rev_limit_manner="hard"
    )
    return fitted_for(version, actor)


@pytest.fixture
def tampered(keyed_in) -> MapVersion:
    """A released version whose figures somebody changed in the database itself."""
    return changed_in_the_database(keyed_in)
