"""What like cars went home with, laid under a curve, and a map that starts in their middle."""

import pytest
from django.core.cache import cache
from django.urls import reverse

from garage.units.capability import capability_of
from garage.units.examples import TERN
from jobs.bench import overlays
from jobs.bench import start_maps as starts
from jobs.maps.models import MapVersion
from tests.factories import JobFactory, VehicleFactory
from tests.jobs_factories import FittedUnitFactory, MapVersionFactory, UnitTypeRevisionFactory
from tests.likeness.cars_at_home import home
from tests.pages import text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _nothing_is_kept_from_another_test():
    cache.clear()


def alder() -> JobFactory:
    return JobFactory(vehicle=VehicleFactory(engine__family="Alder B"), stage="map")


@pytest.fixture
def three_alders(actor):
    """By hand, total advance at 3000 rpm: 8 + 18 = 26, 10 + 20 = 30 and 12 + 10 = 22 degrees; the median is 26."""
    revision = UnitTypeRevisionFactory(capability=capability_of(TERN))
    for base, degrees in ((8.0, 18), (10.0, 20), (12.0, 10)):
        home(
            actor,
            job=alder(),
            unit_revision=revision,
            base_deg=base,
            curve=[[500, 0], [3000, degrees]],
            rev_limit_rpm=6000.0,
        )


def laid(draft, asked):
    return overlays.laid(draft.job, draft, draft.base_deg, draft.ignition_map().total_advance(), asked)


def test_their_median_is_counted_from_the_base_of_the_bench(three_alders):
    draft = MapVersionFactory(job=alder(), base_deg=9.0)
    found = {rpm: (low, middle, high) for rpm, low, middle, high in laid(draft, ["like"]).like}
    assert found[3000.0] == pytest.approx((24 - 9, 26 - 9, 28 - 9), abs=0.51)  # the unit holds whole degrees
    assert laid(draft, ["like"]).like_name == "3 like this one"


def test_it_is_offered_and_not_laid_until_it_is_asked_for(three_alders, at_the_bench):
    draft = MapVersionFactory(job=alder())
    page = at_the_bench.get(reverse("bench:version", args=[draft.job.code, 1]))
    assert "3 like this one" in text_of(page)
    assert "chart-cars" not in page.content.decode()
    page = at_the_bench.get(reverse("bench:version", args=[draft.job.code, 1]) + "?layers=1&under=like")
    assert "chart-cars" in page.content.decode()


def test_two_like_cars_are_not_offered(actor):
    for _ in range(2):
        home(actor, job=alder())
    draft = MapVersionFactory(job=alder())
    choices = overlays.choices_for(draft.job, draft, 8.0, draft.ignition_map().total_advance(), [])
    assert "like" not in {choice.name for choice in choices}


def test_an_engine_of_which_nothing_is_known_has_no_like(three_alders):
    draft = MapVersionFactory(job=JobFactory(stage="map"))
    assert laid(draft, ["like"]).like == ()


def test_a_car_handed_over_a_moment_ago_counts_at_once(three_alders, actor):
    draft = MapVersionFactory(job=alder())
    assert laid(draft, ["like"]).like_name == "3 like this one"
    home(actor, job=alder())
    assert laid(draft, ["like"]).like_name == "4 like this one"


class TestAStartInTheirMiddle:
    def job_with_unit(self, actor):
        from jobs.job.actions import choose_unit

        job = alder()
        unit = FittedUnitFactory(revision=UnitTypeRevisionFactory(capability=capability_of(TERN)))
        choose_unit(job=job, unit=unit, actor=actor)
        return job

    def test_has_their_spark_on_the_base_of_this_car(self, three_alders, actor):
        start = starts.from_like_cars(self.job_with_unit(actor), TERN, 6.0)
        assert start.map.total(rpm=3000, vacuum=0) == pytest.approx(26, abs=0.51)
        assert start.map.curve.rpm == tuple(TERN.nodes.rpm)

    def test_keeps_where_it_came_from(self, three_alders, actor, at_the_bench):
        job = self.job_with_unit(actor)
        address = reverse("bench:start", args=[job.code])
        form = at_the_bench.get(address).context["form"]
        assert ("like", "Median of 3 like this one") in form.fields["start"].choices
        at_the_bench.post(
            address,
            {
                "idempotency_key": form["idempotency_key"].value(),
                "start": "like",
                "base_deg": "6",
                "reason": "as the others",
            },
        )
        version = MapVersion.objects.get(job=job)
        assert version.origin == "the median of 3 like cars: family Alder B"

    def test_is_not_offered_of_two(self, actor, at_the_bench):
        job = self.job_with_unit(actor)
        form = at_the_bench.get(reverse("bench:start", args=[job.code])).context["form"]
        assert "like" not in dict(form.fields["start"].choices)
