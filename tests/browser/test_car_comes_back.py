"""A car that was converted here comes back: its second job starts from the first, and says that nobody checked it."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from garage.record.actor import Actor
from jobs.models import Job
from tests.browser.conftest import LANDSCAPE, session_of
from tests.browser.trade import Bench
from tests.factories import JobFactory, VehicleFactory
from tests.jobs_factories import proven_version

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def left(mechanic):
    """The version that a conversion left in the car a year ago."""
    then = Actor(person=mechanic, at=timezone.now() - timedelta(days=365))
    job = JobFactory(stage="after-care", vehicle=VehicleFactory(registration="HLD 150 C"), made_at=then.at)
    return proven_version(then, job=job, base_deg=9.0)


@pytest.fixture
def rowan(tablet, live_server, owner):
    return Bench(tablet(live_server.url, session_of(owner), LANDSCAPE))


def booked(bench: Bench, left, kind: str) -> Job:
    bench.go("/jobs/book/")
    bench.fill("Book car", registration="hld 150 c", kind=kind, wanted="It is a year old.")
    return Job.objects.exclude(pk=left.job.pk).get()


@pytest.mark.parametrize("kind", ["check", "unit replaced"])
def test_the_second_job_shows_what_the_first_left_as_not_yet_checked_again(rowan, left, kind):
    job = booked(rowan, left, kind)
    rowan.go(f"/jobs/{job.code}/")
    before = rowan.page.locator("section", has=rowan.page.get_by_role("heading", name=f"From job {left.job.code}"))
    expect(before).to_contain_text("9° BTDC")
    expect(before).to_contain_text(str(left.job.unit.serial_number))
    expect(before.get_by_text("not yet checked again")).to_have_count(2)
    expect(before).to_contain_text(f"Read back clean by Ines Marlow, {timezone.localdate() - timedelta(365):%-d %b %Y}")
    expect(rowan.page.locator("section.figures").first).to_contain_text("not proven")


def test_the_map_that_was_left_is_used_and_read_back_again(rowan, left):
    job = booked(rowan, left, "check")
    rowan.go(f"/jobs/{job.code}/map/")
    rowan.tap("Use version 1")
    version = job.map_versions.get()
    assert version.copied_from == left
    rowan.go(f"/jobs/{job.code}/map/{version.number}/read-back/")
    rowan.page.locator("[name=power_cycled]").check()
    for row in rowan.page.locator("table.read-back tbody tr").all():
        row.locator("input[type=checkbox]").check()
    rowan.tap("Save")
    rowan.reads("Clean. Version 1 is in the car.")
    rowan.go(f"/jobs/{job.code}/")
    expect(rowan.page.get_by_text("not yet checked again")).to_have_count(0)
