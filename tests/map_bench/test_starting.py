"""Starting a version: the first of a job, one that goes on from another, one for another unit type."""

import uuid
from dataclasses import replace

import pytest
from django.urls import reverse

from garage.units.capability import capability_of
from garage.units.examples import FALLOW, TERN
from tests.factories import JobFactory
from tests.jobs_factories import FittedUnitFactory, UnitTypeRevisionFactory
from tests.maps.versions import address
from tests.pages import FILL_IN, text_of

pytestmark = pytest.mark.django_db


def test_a_first_version_is_started_from_the_factory_band_and_says_so(at_the_bench, actor):
    job = JobFactory(
        stage="map",
        unit=FittedUnitFactory(),
        vehicle__distributor__factory_band=[[400, 0, 1], [2000, 10, 12]],
        vehicle__distributor__base_timing_deg=6,
    )
    start = reverse("bench:start", args=[job.code])
    assert 'value="6"' in at_the_bench.get(start).content.decode()
    idempotency_key = str(uuid.uuid4())
    form = {"start": "band", "base_deg": "7", "reason": "as the factory wanted it", "idempotency_key": idempotency_key}
    for _ in range(2):  # a double tap
        answer = at_the_bench.post(start, form)
    version = job.map_versions.get()
    assert answer.headers["Location"] == address(version)
    assert (version.base_deg, version.origin) == (7.0, "the middle of the factory band")
    assert version.curve == [[800.0, 1.0], [4000.0, 22.0]]


def started(at_the_bench, job, **typed):
    form = {"start": "blank", "base_deg": "9", "reason": "First drive", "idempotency_key": str(uuid.uuid4()), **typed}
    return at_the_bench.post(reverse("bench:start", args=[job.code]), form)


def test_a_curve_is_typed_in_one_box(at_the_bench):
    job = JobFactory(stage="map", unit=FittedUnitFactory())
    started(at_the_bench, job, points="rpm; degrees\n500 0\n1000;1,5\n2500\t14\n")
    version = job.map_versions.get()
    assert version.curve == [[500.0, 0.0], [1000.0, 1.5], [2500.0, 14.0]]
    assert version.origin.startswith("a typed curve")


@pytest.mark.parametrize(
    ("points", "words"),
    [
        ("500 0\n1000", "Row 2 has 1 cell where the others have 2."),
        ("500 0\n1000 six", "Row 2"),
        ("1000 0\n500 6", "rise"),
    ],
)
def test_a_curve_that_is_none_is_refused_in_words_and_stays_in_its_box(at_the_bench, points, words):
    job = JobFactory(stage="map", unit=FittedUnitFactory())
    answer = started(at_the_bench, job, points=points)
    assert answer.status_code == 422
    assert words in text_of(answer)
    assert points in answer.content.decode().replace("&#x27;", "'")
    assert not job.map_versions.exists()


@pytest.mark.parametrize(
    ("red_line_rpm", "rev_limit_rpm"),
    [(6100, 6000), (6000, 6000), (2500, None), (None, None)],
    ids=["on the step below", "on a step", "below what the unit holds", "not known"],
)
def test_a_start_takes_the_cars_red_line_for_its_rev_limit(at_the_bench, red_line_rpm, rev_limit_rpm):
    """Common practice, no source: sparks are dropped where the maker ends the range, and not above."""
    unit = FittedUnitFactory(revision=UnitTypeRevisionFactory(capability=capability_of(TERN)))
    job = JobFactory(stage="map", unit=unit, vehicle__engine__red_line_rpm=red_line_rpm)
    started(at_the_bench, job)
    version = job.map_versions.get()
    assert version.rev_limit_rpm == rev_limit_rpm
    assert ("; the car's red line" in version.origin) is (rev_limit_rpm is not None)


def test_a_start_without_a_reason_comes_back_filled_in(at_the_bench):
    job = JobFactory(stage="map", unit=FittedUnitFactory())
    form = {"start": "blank", "base_deg": "9", "reason": "", "idempotency_key": str(uuid.uuid4())}
    answer = at_the_bench.post(reverse("bench:start", args=[job.code]), form)
    assert answer.status_code == 422
    assert 'value="9"' in answer.content.decode()
    assert not job.map_versions.exists()


def test_a_next_version_needs_its_reason(at_the_bench, released):
    answer = at_the_bench.post(address(released, "next"), {"reason": "", "idempotency_key": str(uuid.uuid4())})
    assert answer.status_code == 422
    assert FILL_IN in text_of(answer)
    at_the_bench.post(address(released, "next"), {"reason": "flat at 2000", "idempotency_key": str(uuid.uuid4())})
    assert released.children.get().reason == "flat at 2000"


def test_the_reason_that_a_road_test_hands_over_stands_in_the_form(at_the_bench, draft):
    page = at_the_bench.get(address(draft, "next"), {"reason": "clear pinking at 2600 rpm"}).content.decode()
    assert "clear pinking at 2600 rpm</textarea>" in page


def test_a_refit_says_where_the_other_unit_cannot_hold_the_map(at_the_bench, released):
    small = replace(FALLOW, degree=type(FALLOW.degree)(-10, 20, 0.5))
    UnitTypeRevisionFactory(capability=capability_of(small), unit_type__name="Small")
    shown = text_of(at_the_bench.get(address(released, "refit")))
    assert "26 degrees at 3000 rpm" in shown


RAMP = {
    "vacuum_start_kpa": "4", "vacuum_start_kpa_unit": "inHg", "vacuum_full_kpa": "12", "vacuum_full_kpa_unit": "inHg",
    "vacuum_full_deg": "12",
}  # fmt: skip


def with_unit(capability=TERN, **more):
    unit = FittedUnitFactory(revision=UnitTypeRevisionFactory(capability=capability_of(capability)))
    return JobFactory(stage="map", unit=unit, **more)


def test_the_vacuum_advance_is_typed_with_the_curve_in_the_unit_it_was_read_in(at_the_bench):
    """4 and 12 inHg are 13.5456 and 40.6367 kPa: 3.38639 kPa an inch (NIST SP 811:2008, App. B.8)."""
    job = with_unit()
    assert started(at_the_bench, job, points="500 0\n2500 14", **RAMP).status_code == 302
    version = job.map_versions.get()
    assert (version.vacuum_start_kpa, version.vacuum_full_kpa) == pytest.approx((13.54556, 40.63667), abs=1e-4)
    assert (version.vacuum_scheme, version.vacuum_full_deg, version.vacuum_unit) == ("ramp", 12, "inHg")
    assert version.origin.startswith("a typed curve")
    assert "vacuum advance as typed" in version.origin


def test_a_ramp_that_is_typed_takes_the_place_of_the_one_of_the_start(at_the_bench):
    job = with_unit(
        vehicle__distributor__factory_band=[[400, 0, 1], [2000, 10, 12]],
        vehicle__distributor__capsule_start_kpa=15,
        vehicle__distributor__capsule_full_kpa=45,
        vehicle__distributor__capsule_full_deg=7,
    )
    started(at_the_bench, job, start="band", **RAMP)
    assert job.map_versions.get().vacuum_full_deg == 12


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"vacuum_full_deg": ""}, "Needed for a ramp."),
        ({"vacuum_full_kpa": "3"}, "it must be full later"),
        ({"vacuum_full_deg": "25"}, "The unit holds 0 to 20."),
    ],
)
def test_a_ramp_that_is_none_is_refused_beside_its_box(at_the_bench, typed, words):
    job = with_unit()
    answer = started(at_the_bench, job, **(RAMP | typed))
    assert answer.status_code == 422
    assert words in text_of(answer)
    assert not job.map_versions.exists()


def test_the_purpose_of_a_first_map_is_filled_in(at_the_bench):
    page = at_the_bench.get(reverse("bench:start", args=[with_unit().code]))
    assert "First map of this car" in page.content.decode()


def test_a_unit_without_vacuum_part_is_asked_for_none(at_the_bench):
    entries = tuple(entry for entry in TERN.entries if not entry.key.startswith("vacuum"))
    job = with_unit(replace(TERN, vacuum=None, entries=entries))
    assert "vacuum_full_deg" not in at_the_bench.get(reverse("bench:start", args=[job.code])).content.decode()
