"""Every paper that names a map carries the car's settings, and they bring the same map back in another workshop."""

import hashlib
import json
import uuid
from io import BytesIO

import jsonschema
import pypdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.urls import reverse
from django.utils import timezone

from garage.units.capability import capability_of
from jobs.documents.document_data import document_data
from jobs.documents.models import DocumentKind
from jobs.documents.setting import set_document, settings_to_carry
from jobs.handover.queries import sign_off_data
from jobs.maps.stored_map import from_json
from jobs.models import MapVersion
from jobs.settings_file import schema
from jobs.settings_file.out_of_pdf import settings_in
from tests.documents.cars import MAPS
from tests.factories import JobFactory
from tests.jobs_factories import FittedUnitFactory, UnitTypeRevisionFactory
from tests.settings_file.hostile import with_file


def carried(pdf):
    """The file that pypdf finds in a paper."""
    [file] = pypdf.PdfReader(BytesIO(pdf)).attachment_list
    return file


def canonical(value):
    """RFC 8785 for what our files hold: names in ASCII, and figures without an exponent. Made without its library."""

    def whole(one):
        if isinstance(one, dict):
            return {name: whole(inner) for name, inner in one.items()}
        if isinstance(one, list):
            return [whole(inner) for inner in one]
        return int(one) if isinstance(one, float) and one.is_integer() else one

    text = json.dumps(whole(value), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


@pytest.mark.parametrize("name", MAPS)
def test_a_paper_brings_its_map_to_an_empty_workshop_with_the_same_identity(browser_of, mechanic, papers, name, kind):
    pdf, facts = papers.of(name, kind), papers.facts[name]
    assert not MapVersion.objects.exists()
    unit = FittedUnitFactory(revision=UnitTypeRevisionFactory(capability=capability_of(MAPS[name][0])))
    job = JobFactory(unit=unit, stage="map")
    client, address = browser_of(mechanic), reverse("bench:from-sheet", args=[job.code])
    once = {"reason": "Unit restored", "idempotency_key": uuid.uuid4()}
    looked_at = client.post(address, once | {"file": SimpleUploadedFile("sheet.pdf", pdf, "application/pdf")})
    assert looked_at.status_code == 200
    assert not MapVersion.objects.exists()
    taken = client.post(address, once | {"start": "", "settings": looked_at.context["found"].settings})
    draft = MapVersion.objects.get()
    assert taken.url == reverse("bench:version", args=[job.code, draft.number])
    assert draft.released_at is None
    assert draft.ignition_map().content_hash() == from_json(facts["map"]["target"]).content_hash()
    assert facts["job"]["code"] in draft.origin
    assert json.loads(settings_in(pdf))["map_sha256"][:16] in draft.origin


def test_the_file_is_named_and_its_relation_to_the_paper_told(papers, kind):
    """ISO 19005-3, 6.8, and ISO 32000-2, 7.11.3: from memory."""
    reader = pypdf.PdfReader(BytesIO(papers.of("plain", kind)))
    [file] = reader.attachment_list
    assert (file.name, file.alternative_name, file.subtype) == ("car-settings.json",) * 2 + ("/application/json",)
    assert file.associated_file_relationship == "/Data"
    assert file.description
    assert [one.get_object() for one in reader.trailer["/Root"]["/AF"]] == [file.pdf_object]
    assert file.modification_date is not None


def test_the_file_is_as_the_published_schema_has_it(papers, kind):
    for name in MAPS:
        said = json.loads(carried(papers.of(name, kind)).content)
        checker = jsonschema.FormatChecker()
        jsonschema.Draft202012Validator(schema.published(), format_checker=checker).validate(said)
        assert said["map_sha256"] == canonical(said["map"])
        assert said["sha256"] == canonical({key: value for key, value in said.items() if key != "sha256"})
        assert said["paper"]["kind"] == kind.label


def test_it_holds_what_another_workshop_needs(papers):
    said = json.loads(carried(papers.of("boost", DocumentKind.LABEL)).content)
    facts = papers.facts["boost"]
    assert said["workshop"]["phone"] == "01632 960111"
    assert said["unit"]["serial_number"] == facts["map"]["serial_number"]
    assert [line["value"] for line in said["entries"]] == [line["value"] for line in facts["map"]["lines"]]
    assert said["map"]["boost"][-1] == {"boost_kpa": 90.0, "retard_deg": 9.0}
    assert said["map_version"]["released_by"] == "Gwen Sarto"


def test_what_the_strobe_proved_and_who_looked_a_second_time_goes_along(job, signed_off):
    facts = document_data(job, sign_off_data(signed_off), timezone.now()) | {"number": 1, "issued_by": "Ines Marlow"}
    row = {"key": "plug-gap", "text": "Plug gap", "value": "0.8", "unit": "mm", "note": ""}
    facts["sheets"] = [{"sections": [{"rows": [row]}]}]
    facts["map"]["firmware"] = "3.1"
    said = json.loads(carried(set_document(DocumentKind.LABEL, facts)).content)
    jsonschema.Draft202012Validator(schema.published()).validate(said)
    assert len(said["strobe"]["final"]["readings"]) == len(facts["strobe"]["final"]["readings"])
    assert said["strobe"]["final"]["holds"] is True
    assert said["second_check"]["by"] == "Tam Okoro"
    assert said["fitted"] == [{"item": "plug-gap", "what": "Plug gap", "value": "0.8", "unit": "mm", "note": ""}]
    assert said["unit"]["firmware"] == "3.1"


def test_of_the_customer_nothing_goes_along(job, version):
    """The paper may be given on with the car."""
    customer = job.vehicle.customer
    customer.name, customer.address, customer.phone = "Quintilla Ferrow", "7 Sedge Row", "01632 960222"
    customer.email, customer.notes = "q.ferrow@post.example", "pays late"
    customer.save()
    facts = document_data(job, None, timezone.now()) | {"number": 1, "issued_by": "Ines Marlow"}
    assert facts["car"]["customer"] == "Quintilla Ferrow"
    text = carried(set_document(DocumentKind.LABEL, facts)).content.decode()
    for word in ("Quintilla", "Ferrow", "Sedge", "960222", "q.ferrow", "pays late", job.wanted):
        assert word not in text


def test_a_paper_without_a_map_carries_nothing_and_stays_tagged(papers):
    facts = papers.facts["plain"] | {"map": None}
    reader = pypdf.PdfReader(BytesIO(set_document(DocumentKind.BENCH_RECORD, facts)))
    assert list(reader.attachment_list) == []
    assert "/AF" not in reader.trailer["/Root"]
    assert b"pdfuaid" in reader.trailer["/Root"]["/Metadata"].get_data()


def test_the_same_data_give_the_same_bytes(papers):
    again = set_document(DocumentKind.RESTORE_SHEET, json.loads(json.dumps(papers.facts["boost"])))
    assert again == papers.of("boost", DocumentKind.RESTORE_SHEET)


def test_the_console_says_what_a_sheet_holds_in_plain_words(papers, tmp_path, capsys):
    sheet = tmp_path / "sheet.pdf"
    sheet.write_bytes(papers.of("16 points and 80 cells", DocumentKind.RESTORE_SHEET))
    call_command("read_sheet", str(sheet))
    told = capsys.readouterr().out
    for words in (
        "Hollow Lane Motors, 01632 960111",
        "Car: HLM 1 A, Alder 1500 saloon",
        "Base timing: 8° BTDC",
        "80 kPa: 0°, 2°, 4°, 6°",
        "Rev limit: 7000 rpm, soft",
        "   1. static timing (Base timing): 8.0",
    ):
        assert words in told
    call_command("read_sheet", str(sheet), "--json")
    assert json.loads(capsys.readouterr().out) == json.loads(settings_in(sheet.read_bytes()))


@pytest.mark.parametrize(("content", "said"), [(b"%PDF-1.7 no more", "damaged"), (None, "cannot be read")])
def test_the_console_says_why_a_file_is_no_sheet(tmp_path, content, said):
    sheet = tmp_path / "sheet.pdf"
    if content is not None:
        sheet.write_bytes(content)
    with pytest.raises(CommandError, match=said):
        call_command("read_sheet", str(sheet))


def test_the_console_passes_on_nothing_that_moves_its_cursor(papers, tmp_path, capsys):
    facts = papers.facts["plain"]
    facts = facts | {"workshop": facts["workshop"] | {"name": "Red\x1b[31m Motors"}}
    carries = settings_to_carry(DocumentKind.LABEL, facts)
    sheet = tmp_path / "sheet.pdf"
    sheet.write_bytes(with_file(carries.content))
    call_command("read_sheet", str(sheet))
    told = capsys.readouterr().out
    assert "Red [31m Motors" in told
    assert "\x1b" not in told
