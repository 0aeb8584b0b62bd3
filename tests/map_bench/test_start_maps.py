"""Where a first version may come from, and that it never forgets it."""

import uuid

import pytest
from django.urls import reverse

from garage.units.examples import FALLOW, QUILL, TERN
from jobs.bench import start_maps as starts
from jobs.inspection.actions import record_sweep_reading
from tests.factories import JobFactory, VehicleFactory
from tests.jobs_factories import FittedUnitFactory, released_version
from tests.pages import text_of

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


class TestTheAdvanceAsFound:
    """A distributor read on the car: what it does, and what is worn in it, is what a map may start from."""

    BAND = [[400, 0, 0.5], [600, 1, 3], [900, 5, 7], [1500, 8.5, 10.5], [2250, 11, 13]]

    def job_read_at(self, actor, readings, **distributor):
        vehicle = VehicleFactory(**{f"distributor__{name}": value for name, value in distributor.items()})
        job = JobFactory(vehicle=vehicle, stage="map")
        for rpm, degrees in readings:
            record_sweep_reading(
                job=job, id=uuid.uuid4(), rpm=rpm, measured_deg=degrees, direction="rising", actor=actor
            )
        return job

    def test_is_counted_from_its_lowest_reading(self, actor):
        readings = [(800, 9), (1200, 12), (1800, 20), (3000, 27), (4000, 31), (4500, 32)]
        start = starts.from_sweep(self.job_read_at(actor, readings), 8.0)
        assert start.map.base_deg == 8.0
        assert start.map.curve.rpm == (800, 1200, 1800, 3000, 4000, 4500)
        assert start.map.curve.degrees == (0, 3, 11, 18, 22, 23)
        assert start.origin == "the advance as found"

    def test_takes_the_mean_of_readings_at_one_speed(self, actor):
        readings = [(800, 9), (800, 10), (1200, 12.5), (1800, 20), (3000, 27), (4000, 31), (4500, 32)]
        start = starts.from_sweep(self.job_read_at(actor, readings), 8.0)
        assert start.map.curve.degrees[:2] == (0, 3)

    def test_is_no_start_where_it_was_read_at_too_few_speeds(self, actor):
        assert starts.from_sweep(self.job_read_at(actor, [(800, 9), (1200, 12)]), 8.0) is None

    def test_names_what_is_worn_in_it(self, actor):
        """The band of the handbook, section 4, in crank degrees; 5 degrees early in the middle: weak springs."""
        readings = [(800, 8.5), (1200, 17), (1800, 27), (3000, 31), (4000, 31.5), (4500, 32)]
        job = self.job_read_at(actor, readings, factory_band=self.BAND, base_timing_deg=8)
        start = starts.from_sweep(job, 8.0)
        assert start.origin == "the advance as found, worn: weak springs"
        assert any("springs" in sentence for sentence in starts.wear_as_found(job))

    def test_of_a_sound_distributor_names_nothing(self, actor):
        readings = [(800, 8.5), (1200, 12), (1800, 20), (3000, 27), (4000, 30.5), (4500, 32)]
        job = self.job_read_at(actor, readings, factory_band=self.BAND, base_timing_deg=8)
        assert starts.from_sweep(job, 8.0).origin == "the advance as found"
        assert starts.wear_as_found(job) == []

    def test_is_offered_on_the_page_and_kept_as_the_origin(self, at_the_bench, actor):
        readings = [(800, 9), (1200, 12), (1800, 20), (3000, 27), (4000, 31), (4500, 32)]
        job = self.job_read_at(actor, readings)
        type(job).objects.filter(pk=job.pk).update(unit=FittedUnitFactory())
        url = reverse("bench:start", args=[job.code])
        assert "wear would not show" in text_of(at_the_bench.get(url))
        form = {"start": "sweep", "base_deg": "8", "reason": "as it ran", "idempotency_key": str(uuid.uuid4())}
        at_the_bench.post(url, form)
        assert job.map_versions.get().origin == "the advance as found"
