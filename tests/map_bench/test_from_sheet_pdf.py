"""A map taken over from a sheet's PDF: what differs is listed, and what is no sound sheet changes nothing."""

import json
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from garage.units.capability import capability_of
from garage.units.examples import TERN
from garage.vehicles.models import Engine
from jobs.models import MapVersion
from jobs.settings_file.digests import OF_ALL, OF_THE_MAP, digest_of_all, digest_of_map
from jobs.settings_file.out_of_pdf import LARGEST_PDF
from jobs.settings_file.writing import as_bytes, car_settings
from tests.documents.cars import facts_of, proven
from tests.factories import JobFactory, VehicleFactory
from tests.jobs_factories import FittedUnitFactory, UnitTypeRevisionFactory
from tests.pages import text_of
from tests.settings_file.hostile import with_file

pytestmark = pytest.mark.django_db

CHANGED = "The settings were changed after the sheet was made: their checksum does not agree."
UNREADABLE = "The settings in this file cannot be read."


@pytest.fixture
def job():
    """The car in hand, with a unit like that of the sheet."""
    unit = FittedUnitFactory(revision=UnitTypeRevisionFactory(capability=capability_of(TERN)), firmware="2.0")
    vehicle = VehicleFactory(registration="OWN 1 A", chassis_number="B-77")
    return JobFactory(unit=unit, stage="map", vehicle=vehicle)


@pytest.fixture
def settings_of_sheet(actor):
    """What a sheet of another car holds."""
    version = proven("plain", actor, registration="QZ 88 G", maker="Rowan", chassis_number="A-12")
    Engine.objects.filter(vehicle=version.job.vehicle).update(firing_order="1-2-4-3")
    version.job.vehicle.refresh_from_db()
    facts = facts_of(version.job)
    facts["car"]["firing_order"] = "1-2-4-3"
    facts["map"]["firmware"] = "3.1"
    return car_settings(facts, paper="restore sheet", fitted=[
        {"key": "plug-gap", "text": "Plug gap", "value": "0.8", "unit": "mm", "note": "cold"}
    ])  # fmt: skip


def sealed(settings):
    """With digests that agree, as somebody would make them who means no harm."""
    settings[OF_THE_MAP] = digest_of_map(settings)
    settings[OF_ALL] = digest_of_all(settings)
    return settings


def sent(client, job, pdf=None, **more):
    data = {"reason": "Unit restored", "idempotency_key": uuid.uuid4(), **more}
    if pdf is not None:
        data["file"] = SimpleUploadedFile("sheet.pdf", pdf, "application/pdf")
    return client.post(reverse("bench:from-sheet", args=[job.code]), data)


def test_what_differs_from_the_car_in_hand_is_listed_before_anything_is_done(
    browser_of, mechanic, job, settings_of_sheet
):
    Engine.objects.filter(vehicle=job.vehicle).update(firing_order="1-3-4-2")
    answer = sent(browser_of(mechanic), job, with_file(as_bytes(settings_of_sheet)))
    shown = text_of(answer)
    assert answer.status_code == 200
    for sentence in (
        "The sheet is of QZ 88 G, this car is OWN 1 A.",
        "On the sheet the make is Rowan, here it is Alder.",
        "On the sheet the chassis number is A-12, here it is B-77.",
        "On the sheet the firing order is 1-2-4-3, here it is 1-3-4-2.",
        "The unit of the sheet had firmware 3.1, this one has 2.0.",
        "0.8 mm (cold)",
    ):
        assert sentence in shown
    assert "red line" not in shown  # which neither knows
    assert not MapVersion.objects.filter(job=job).exists()


def test_the_second_press_needs_no_file_and_starts_one_draft(browser_of, mechanic, job, settings_of_sheet):
    client, once = browser_of(mechanic), uuid.uuid4()
    looked_at = sent(client, job, with_file(as_bytes(settings_of_sheet)))
    carried = looked_at.context["found"].settings
    for _ in range(2):
        sent(client, job, settings=carried, start="", idempotency_key=once)
    draft = MapVersion.objects.get(job=job)
    short = settings_of_sheet["map_sha256"][:16]
    of = f"car QZ 88 G, job {settings_of_sheet['job']['code']}, version 1"
    assert draft.origin == f"a sheet of {of}, checksum {short}"


def test_the_purpose_is_filled_in_once_the_sheet_is_read(browser_of, mechanic, job, settings_of_sheet):
    sheet = SimpleUploadedFile("sheet.pdf", with_file(as_bytes(settings_of_sheet)), "application/pdf")
    once = {"file": sheet, "idempotency_key": uuid.uuid4()}
    answer = browser_of(mechanic).post(reverse("bench:from-sheet", args=[job.code]), once)
    assert answer.context["form"]["reason"].value() == "Unit restored"


def test_what_the_page_carried_is_held_against_its_checksum_again(browser_of, mechanic, job, settings_of_sheet):
    settings_of_sheet["map"]["base_timing_deg_btdc"] = 30.0
    answer = sent(browser_of(mechanic), job, settings=json.dumps(settings_of_sheet), start="")
    assert answer.status_code == 422
    assert CHANGED in text_of(answer)
    assert not MapVersion.objects.filter(job=job).exists()


def later(settings):
    return as_bytes(sealed(settings | {"schema_number": 2}))


def base_changed(settings):
    return as_bytes(settings).replace(b'"base_timing_deg_btdc": 8.0', b'"base_timing_deg_btdc": 9.0')


def entry_changed(settings):
    settings["entries"][0]["value"] = "12"
    return as_bytes(settings)


def more_than_the_unit_holds(settings):
    settings["map"]["curve"][-1]["advance_deg"] = 60.0
    return as_bytes(sealed(settings))


def no_map(settings):
    settings["map"]["curve"][1]["rpm"] = settings["map"]["curve"][0]["rpm"]
    return as_bytes(sealed(settings))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (later, "The sheet is of schema 2; this program reads schema 1."),
        (base_changed, CHANGED),
        (entry_changed, CHANGED),
        (more_than_the_unit_holds, "The unit in this car cannot hold this map"),
        (no_map, "The map in this file cannot be"),
        (lambda settings: b"{}", "The settings in this file are not as our schema has them"),
        (lambda settings: as_bytes(settings | {"extra": 1}), "not as our schema has them"),
        (lambda settings: as_bytes(settings).replace(b'_ms": null', b'_ms": NaN'), UNREADABLE),
        (lambda settings: as_bytes(settings).replace(b'_ms": null', b'_ms": 1e999'), UNREADABLE),
        (lambda settings: as_bytes(settings).replace(b'_ms": null', b'_ms": ' + b"9" * 5000), UNREADABLE),
        (lambda settings: as_bytes(settings).replace(b'"map":', b'"map": 1, "map":', 1), UNREADABLE),
        (lambda settings: b"[" * 500_000, UNREADABLE),
        (lambda settings: b'{"map": {"boost": [' + b"{}," * 300_000 + b"{}]}}", "not as our schema has them"),
        (lambda settings: as_bytes(settings).replace(b"QZ 88 G", b"\\ud800"), CHANGED),
        (lambda settings: b"\xff\xfe\x00", UNREADABLE),
        (lambda settings: as_bytes(settings).replace(b"QZ 88 G", b"\\u0000"), "not as our schema has them"),
    ],
    ids=["later schema", "map changed", "entry changed", "beyond the unit", "no map", "empty", "unknown entry", "nan",
         "infinite", "digits without end", "a name twice", "deep", "wide", "half a character", "no text", "a zero"],
)  # fmt: skip
def test_what_is_no_sound_sheet_is_refused_in_a_sentence_and_nothing_is_done(
    browser_of, mechanic, job, settings_of_sheet, change, said
):
    answer = sent(browser_of(mechanic), job, with_file(change(settings_of_sheet)), start="")
    assert answer.status_code == 422
    assert said in text_of(answer)
    assert not MapVersion.objects.filter(job=job).exists()


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({}, "Choose a PDF, or paste the text of the code."),
        ({"pdf": b"\x89PNG\r\n"}, "This is not a PDF."),
        ({"pdf": with_file(b"{}", name=b"bill.json")}, "This PDF has no settings in it."),
        ({"pdf": with_file(b"{}"), "text": "IGNITION MAP"}, "Choose the PDF or the text, not both."),
        ({"pdf": b"%PDF-1.7" + bytes(LARGEST_PDF)}, "This file is larger than 10 MB."),
    ],
    ids=["nothing", "picture", "another pdf", "both", "too large"],
)
def test_what_is_no_sheet_is_said_beside_the_form(browser_of, mechanic, job, asked, said):
    answer = sent(browser_of(mechanic), job, **asked)
    assert answer.status_code == 422
    assert said in text_of(answer)
