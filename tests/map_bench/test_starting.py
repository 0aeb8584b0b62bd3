"""Starting a version: the first of a job, one that goes on from another, one for another unit type."""

import uuid
from dataclasses import replace

import pytest
from django.urls import reverse

from garage.units.capability import capability_of
from garage.units.examples import FALLOW
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
