"""A map taken over from another car's restore sheet at a tablet: a wrong file, the right one, what differs, a draft."""

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from garage.units.capability import capability_of
from garage.units.examples import TERN
from jobs.documents.models import DocumentKind
from jobs.documents.setting import set_document
from jobs.models import MapVersion
from tests.browser.conftest import LANDSCAPE, PORTRAIT, session_of
from tests.browser.glass import faults
from tests.documents.cars import facts_of, proven
from tests.factories import JobFactory, VehicleFactory
from tests.jobs_factories import FittedUnitFactory, UnitTypeRevisionFactory
from timing.sheets.pdf import pdf_from_html

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def job():
    unit = FittedUnitFactory(revision=UnitTypeRevisionFactory(capability=capability_of(TERN)))
    vehicle = VehicleFactory(registration="OWN 1 A", chassis_number="B-77")
    return JobFactory(unit=unit, stage="map", vehicle=vehicle)


@pytest.fixture
def other_car(actor):
    """A car of another workshop, with its map proven."""
    return proven("plain", actor, registration="QZ 88 G", maker="Rowan", chassis_number="A-12")


def file(name, content):
    return {"name": name, "mimeType": "application/pdf", "buffer": content}


@pytest.mark.parametrize("glass", [LANDSCAPE, PORTRAIT], ids=["across", "upright"])
def test_a_sheet_is_read_held_against_the_car_and_becomes_a_draft(tablet, live_server, mechanic, job, other_car, glass):
    facts = facts_of(other_car.job)
    sheet = set_document(DocumentKind.RESTORE_SHEET, facts)
    letter = pdf_from_html(
        "<html lang='en'><title>A letter</title><p>Dear customer</p></html>",
        stylesheet="@page { size: A4 }",
        created=timezone.now(),
    )
    page = tablet(live_server.url, session_of(mechanic), glass)
    page.goto(reverse("maps:page", args=[job.code]))
    page.get_by_role("link", name="From a sheet").click()
    assert faults(page) == []

    page.get_by_label("PDF").set_input_files(file("letter.pdf", letter))
    page.get_by_role("button", name="Read sheet").click()
    expect(page.get_by_role("alert")).to_contain_text("no settings")
    assert faults(page) == []

    page.get_by_label("PDF").set_input_files(file("restore.pdf", sheet))
    page.get_by_role("button", name="Read sheet").click()
    expect(page.get_by_role("heading", name="The sheet says")).to_be_visible()
    expect(page.get_by_text("The sheet is of QZ 88 G, this car is OWN 1 A.")).to_be_visible()
    expect(page.get_by_text("On the sheet the make is Rowan, here it is Alder.")).to_be_visible()
    assert faults(page) == []
    assert not MapVersion.objects.filter(job=job).exists()

    page.get_by_role("button", name="Start version").click()
    expect(page).to_have_url(f"{live_server.url}{reverse('bench:version', args=[job.code, 1])}")
    draft = MapVersion.objects.get(job=job)
    assert draft.ignition_map().content_hash() == other_car.ignition_map().content_hash()
    assert draft.released_at is None
    assert draft.origin.startswith("a sheet of car QZ 88 G")
