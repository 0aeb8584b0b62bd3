"""The verdict on the engine: what failed stands at its head, and neither 'ready' nor silence gets past it.

Limits: handbook section 11, rows 10 and 11; common practice, no source.
"""

import pytest
from playwright.sync_api import expect

from jobs.inspection.models import InspectionVerdict
from tests.browser.conftest import LANDSCAPE, session_of
from tests.browser.trade import Bench
from tests.checklists.factories import enter, sheet_with
from tests.factories import JobFactory, VehicleFactory

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

FUEL = {"key": "fuel-leaks", "kind": "choice", "text": "Fuel leaks", "choices": ["none", "weeping"],
        "good_choices": ["none"], "hold_point": True}  # fmt: skip


@pytest.fixture
def job(workshop):
    return JobFactory(stage="inspection", vehicle=VehicleFactory(engine__cylinders=4))


@pytest.fixture
def hands_of(tablet, live_server, job):
    """`hands_of(mechanic)`: that person at the inspection page of this car."""

    def at_the_car(person):
        bench = Bench(tablet(live_server.url, session_of(person), LANDSCAPE))
        bench.go(f"/jobs/{job.code}/inspection/")
        return bench

    return at_the_car


def read_the_compression(bench: Bench, *gauges: int) -> None:
    boxes = {f"cylinder_{cylinder}": kpa for cylinder, kpa in enumerate(gauges, start=1)}
    bench.fill("Save", within="#compression", **boxes)


def test_a_fuel_leak_and_an_uneven_engine_are_listed_and_ready_is_refused(hands_of, job, mechanic):
    sheet = sheet_with([FUEL], person=mechanic, job=job, kind="inspection")
    enter(sheet, "fuel-leaks", mechanic, choice="weeping")
    ines = hands_of(mechanic)
    read_the_compression(ines, 1200, 1180, 1150, 888)  # (1200 - 888) / 1200 = 26 %, by hand
    failed = ines.page.locator("[data-failures]")
    expect(failed).to_contain_text("Fuel leaks: weeping")
    expect(failed).to_contain_text("Compression spread: 26% (limit 15%)")
    ines.fill("Save", within="#verdict", fitness="ready")
    ines.reads("Not ready: Fuel leaks: weeping")
    assert not InspectionVerdict.objects.exists()


def test_no_compression_at_all_is_no_ready_engine(hands_of, mechanic):
    ines = hands_of(mechanic)
    read_the_compression(ines, 1150, 1160, 40, 1180)
    expect(ines.page.locator("[data-failures]")).to_contain_text("No compression worth the name: cylinder 3")
    ines.fill("Save", within="#verdict", fitness="ready")
    assert not InspectionVerdict.objects.exists()


def test_with_remarks_asks_a_remark_for_each_and_the_owner_decides(hands_of, job, mechanic, owner):
    ines = hands_of(mechanic)
    read_the_compression(ines, 1200, 1180, 1150, 888)
    ines.fill("Save", within="#verdict", fitness="with remarks", remarks="Tired.")
    ines.reads("Add a remark on this.", "Say how and when the customer was told.")
    decided = {"remark_on_compression-spread": "Head comes off in spring.", "customer_told": "By telephone, today."}
    ines.fill("Save", within="#verdict", fitness="with remarks", **decided)
    ines.reads("Only the owner decides on this: Compression spread: 26% (limit 15%).")
    assert not InspectionVerdict.objects.exists()
    rowan = hands_of(owner)
    rowan.fill("Save", within="#verdict", fitness="with remarks", **decided)
    rowan.reads("Compression spread: 26% (limit 15%): Head comes off in spring.", "Customer told: By telephone, today.")
    assert InspectionVerdict.objects.get().by == owner
