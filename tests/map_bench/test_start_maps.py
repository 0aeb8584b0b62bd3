"""Where a first version may come from, and that it never forgets it."""

import pytest

from garage.units.examples import FALLOW, QUILL, TERN
from jobs.bench import start_maps as starts
from tests.factories import JobFactory, VehicleFactory
from tests.jobs_factories import released_version

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("unit", [TERN, FALLOW, QUILL], ids=["fixed nodes", "absolute", "free nodes"])
def test_a_blank_is_flat_and_fits_its_unit_exactly(unit):
    from timing.unit import fit_map

    start = starts.blank(unit, 8.0)
    assert set(start.map.curve.degrees) == {0.0}
    assert fit_map(start.map, unit).worst_error == 0.0


def test_the_factory_band_becomes_the_mid_line_in_crank_degrees():
    """Handbook, section 4, worked band: crank 800, 1200, 1800, 3000, 4500 rpm, mid-line 0.5, 4, 12, 19, 24 degrees."""
    vehicle = VehicleFactory(
        distributor__factory_band=[[400, 0, 0.5], [600, 1, 3], [900, 5, 7], [1500, 8.5, 10.5], [2250, 11, 13]]
    )
    start = starts.from_band(vehicle, 8.0)
    assert start.map.curve.rpm == (800, 1200, 1800, 3000, 4500)
    assert start.map.curve.degrees == (0.5, 4, 12, 19, 24)
    assert start.origin == "the middle of the factory band"


def test_a_known_capsule_comes_along_with_the_band_in_crank_degrees():
    vehicle = VehicleFactory(
        distributor__factory_band=[[400, 0, 1], [2000, 10, 12]],
        distributor__capsule_start_kpa=15,
        distributor__capsule_full_kpa=45,
        distributor__capsule_full_deg=7,
    )
    assert starts.from_band(vehicle, 8.0).map.vacuum.full_deg == 14.0


def test_without_a_band_there_is_nothing_to_take_the_middle_of():
    assert starts.from_band(VehicleFactory(), 8.0) is None


def car(**engine):
    return VehicleFactory(**{f"engine__{name}": value for name, value in engine.items()})


def test_another_cars_map_is_found_by_engine_compression_and_fuel(actor):
    here = JobFactory(vehicle=car(family="Alder B", compression_ratio=9.0, fuel_ron=97, cylinders=4))
    like = released_version(actor, job=JobFactory(vehicle=car(family="Alder B", compression_ratio=8.7, fuel_ron=95)))
    released_version(actor, job=JobFactory(vehicle=car(family="Alder B", compression_ratio=7.2, fuel_ron=95)))
    stranger = car(family="Torrent", compression_ratio=9.0, fuel_ron=97)
    type(stranger).objects.filter(pk=stranger.pk).update(maker="Torrent")
    released_version(actor, job=JobFactory(vehicle=stranger))
    found = starts.other_cars(here, family="alder", compression=9.0, ron=97)
    assert [row.version for row in found] == [like]
    assert "compression 8.7, here 9" in found[0].differs
    assert "fuel 95 RON, here 97 RON" in found[0].differs


def test_only_the_newest_released_map_of_a_car_is_offered_and_never_ones_own(actor):
    from jobs.maps.actions import release, start_version

    first = released_version(actor)
    second = start_version(job=first.job, parent=first, reason="pinking", actor=actor)
    release(draft=second, row_version=1, actor=actor)
    assert [row.version for row in starts.other_cars(JobFactory())] == [second]
    assert starts.other_cars(first.job) == []


def test_a_copied_map_records_the_version_it_came_from(actor):
    version = released_version(actor)
    start = starts.from_version(version).with_base(10.0)
    assert start.copied_from == version
    assert start.map.base_deg == 10.0
    assert start.map.curve == version.ignition_map().curve
