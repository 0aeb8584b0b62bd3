"""The customer's sheet cannot be issued, nor the car signed off, before the final check has passed, pipe off and on."""

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from garage.record.actor import Actor
from jobs.models import IssuedDocument
from jobs.strobe.models import StrobeSession
from tests.browser.conftest import LANDSCAPE, session_of
from tests.browser.trade import Bench
from tests.factories import JobFactory
from tests.handover.ready_car import SPEEDS, read_as_the_map_gives
from tests.jobs_factories import proven_version

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

RAMP = {"vacuum_scheme": "ramp", "vacuum_start_kpa": 10.0, "vacuum_full_kpa": 40.0, "vacuum_full_deg": 10.0}


def test_the_final_check_comes_before_the_second_check_and_the_sheet(tablet, live_server, mechanic, second_mechanic):
    actor = Actor(person=mechanic, at=timezone.now())
    version = proven_version(actor, job=JobFactory(stage="handover"), **RAMP)
    handover = f"/jobs/{version.job.code}/handover/"
    page = tablet(live_server.url, session_of(mechanic), LANDSCAPE)
    ines = Bench(page)
    tam = Bench(tablet(live_server.url, session_of(second_mechanic), LANDSCAPE))

    def nothing_goes_out(lacking: str) -> None:
        tam.go(handover)
        tam.fill("Sign off car", looked=True)
        tam.reads(lacking)
        tam.go(handover)
        tam.tap("Issue customer's sheet")
        assert not IssuedDocument.objects.exists()
        expect(tam.page.locator("#documents")).to_contain_text("Not issued yet")

    nothing_goes_out("final strobe check of the map in the car")
    ines.go(handover)
    ines.tap("Start final check")
    session = StrobeSession.objects.get()
    read_as_the_map_gives(session, version, actor, speeds=SPEEDS)  # pipe off alone
    nothing_goes_out("pipe on, at 2 vacuums (0 so far)")
    for rpm, kpa in ((2000, 25), (2500, 40)):
        ines.go(f"/jobs/{version.job.code}/strobe/{session.pk}/")
        given = version.delivered_map().total(rpm=rpm, vacuum=kpa)
        ines.fill("Add reading", within="#session", rpm=rpm, measured_deg=round(float(given), 1), vacuum_kpa=kpa)
    tam.go(handover)
    tam.fill("Sign off car", looked=True)
    tam.reads("signed off")
    tam.tap("Issue customer's sheet")
    expect(tam.page.locator("#documents")).to_contain_text("Customer's sheet no. 1")
    assert IssuedDocument.objects.filter(kind="customer sheet").count() == 1
