"""Documents with the longest names and words the book takes: nothing of them is pushed off the paper."""

import uuid
from dataclasses import replace
from datetime import timedelta
from io import BytesIO

import pypdf
import pytest
from django.utils import timezone
from pypdf.generic import NameObject

from garage.models import Workshop
from garage.units.models import FittedUnit, UnitType
from garage.vehicles.models import Vehicle
from jobs.checklists.queries import bench_record_rows
from jobs.documents.document_data import document_data
from jobs.documents.models import DocumentKind
from jobs.documents.setting import curve_picture, set_document
from jobs.handover.queries import sign_off_data
from jobs.strobe import actions as strobe_actions
from jobs.strobe import queries as strobe
from jobs.strobe.models import Purpose
from tests.checklists.factories import enter, sheet_with
from tests.handover.ready_car import read_as_the_map_gives

WITHOUT_END = "https://a.workshop.example/" + "photographsoftheloom" * 12
LONGEST_FIRING_ORDER = "1-7-5-11-3-9-6-12-2-8-4-10"  # of a twelve, as its longest is written


@pytest.fixture
def facts(job, signed_off):
    return document_data(job, sign_off_data(signed_off), timezone.now()) | {"number": 1, "issued_by": "Ines Marlow"}


def set_in(kind, facts):
    return pypdf.PdfReader(BytesIO(set_document(kind, facts)))


def words_and_places(reader):
    """Each piece of text with its place from the left, as a part of the page's width."""
    found = []
    for page in reader.pages:
        width = float(page.mediabox.width)

        def note(text, cm, tm, font, size, width=width):
            if text.strip():
                found.append((text.strip(), (tm[4] * cm[0] + tm[5] * cm[2] + cm[4]) / width))

        page.extract_text(visitor_text=note)
    return found


def longest(model, field):
    return "W" * model._meta.get_field(field).max_length


def test_the_label_is_one_piece_of_paper_however_long_the_names_on_it(facts):
    facts["workshop"] |= {"name": longest(Workshop, "name"), "phone": "0" * 40}
    facts["car"] |= {"registration": longest(Vehicle, "registration"), "firing_order": LONGEST_FIRING_ORDER}
    facts["map"] |= {"unit_type": longest(UnitType, "name"), "serial_number": longest(FittedUnit, "serial_number")}
    reader = set_in(DocumentKind.LABEL, facts)
    assert len(reader.pages) == 1
    text = reader.pages[0].extract_text()
    assert "leads or cap" in text
    assert LONGEST_FIRING_ORDER in text


def test_a_word_without_end_pushes_no_column_off_the_paper(mechanic, job, facts):
    sheet = sheet_with([{"key": "coil", "kind": "measure", "unit": "ohm", "high": 9.0}], person=mechanic, job=job)
    enter(sheet, "coil", mechanic, measure=1.5, note=WITHOUT_END)
    facts["sheets"] = bench_record_rows(job)
    facts["car"] |= {"chassis_number": longest(Vehicle, "chassis_number"), "model": longest(Vehicle, "model")}
    facts["job"]["wanted"] = WITHOUT_END
    places = words_and_places(set_in(DocumentKind.BENCH_RECORD, facts))
    assert any("pass" in word for word, _ in places)
    assert [(word, place) for word, place in places if not 0 <= place <= 0.95] == []


def test_a_bench_record_of_a_car_of_which_nothing_is_known_yet_says_so(facts):
    facts["car"] |= {"year": None, "chassis_number": "", "earth": "", "volts": None}
    facts["job"] |= {"wanted": "", "complaint": "", "odometer": None}
    facts |= {"sheets": [], "map": None, "road": [], "let_through": [], "sign_off": None}
    facts["strobe"] = {"base": None, "map": None, "final": None, "clamp": None}
    text = "\n".join(page.extract_text() for page in set_in(DocumentKind.BENCH_RECORD, facts).pages)
    assert "not recorded" in text
    assert "None" not in text


def test_the_bench_record_says_where_and_after_which_wait_an_entry_came_in(mechanic, job, facts):
    sheet = sheet_with([{"key": "fuse"}, {"key": "coil", "hold_point": True}], person=mechanic, job=job)
    now = timezone.now()
    waited = enter(sheet, "fuse", mechanic, made_at=now - timedelta(hours=3))
    enter(sheet, "coil", mechanic)
    facts["sheets"] = bench_record_rows(job)
    assert [row["waited"] for row in facts["sheets"][0]["sections"][0]["rows"]] == [True, False]
    text = "\n".join(page.extract_text() for page in set_in(DocumentKind.BENCH_RECORD, facts).pages)
    assert text.count("received") == 1
    assert "(hold point)" in text
    assert str(waited.device) in text


def test_a_reading_with_the_pipe_on_says_its_vacuum_in_the_unit_it_was_read_in(job, checked, facts):
    readings = strobe.facts_for_sheet(job)["map"]["readings"]
    readings[0] |= {"vacuum_kpa": 40.6367, "vacuum_unit": "inHg"}
    facts["strobe"]["final"]["readings"] = readings
    text = "\n".join(page.extract_text() for page in set_in(DocumentKind.CUSTOMER_SHEET, facts).pages)
    assert "12 inHg" in text
    assert "pipe off" in text


def begun(job, version, actor, purpose):
    """A strobe session of which one reading was taken, and no more."""
    if purpose == Purpose.BASE:
        session = strobe_actions.begin_base_session(job=job, base_deg=8.0, idempotency_key=uuid.uuid4(), actor=actor)
    else:
        session = strobe_actions.begin_map_session(
            job=job,
            purpose=purpose,
            version_id=version.pk,
            version_words=str(version),
            idempotency_key=uuid.uuid4(),
            actor=actor,
        )
    read_as_the_map_gives(session, version, actor, speeds=(800,))


@pytest.mark.parametrize(("purpose", "part"), [(Purpose.BASE, "base"), (Purpose.FINAL, "final")])
def test_too_few_readings_are_no_proof_on_the_customers_paper(job, version, actor, facts, purpose, part):
    later = replace(actor, at=timezone.now())
    begun(job, version, later, purpose)
    facts["strobe"] = strobe.facts_for_sheet(job)
    assert len(facts["strobe"][part]["readings"]) == 1
    other = "base" if part == "final" else "final"
    facts["strobe"][other] = None
    text = " ".join(" ".join(page.extract_text() for page in set_in(DocumentKind.CUSTOMER_SHEET, facts).pages).split())
    assert "Not proven: too few readings." in text
    assert "More readings" not in text  # nor the verdict
    assert "1 reading" not in text  # nor as where the base timing comes from
    assert "read by" not in text  # nor the reading itself


def test_every_document_names_its_language_and_title(facts):
    for kind in DocumentKind:
        root = set_in(kind, facts).trailer["/Root"]
        assert root[NameObject("/Lang")] == "en-GB"
        assert root["/ViewerPreferences"]["/DisplayDocTitle"]


KIT = {"key": "get-home-kit", "kind": "choice", "choices": ["in the car", "given to the owner", "owner declines"]}


@pytest.mark.parametrize(
    ("answer", "said"), [("in the car", True), ("given to the owner", True), ("owner declines", False)]
)
def test_the_customer_s_sheet_says_where_the_get_home_kit_is_and_how_to_go_back(mechanic, job, facts, answer, said):
    sheet = job.sheets.filter(kind="fitting").first() or sheet_with([KIT], person=mechanic, job=job)
    enter(sheet, "get-home-kit", mechanic, choice=answer, note="Boot, left side.")
    now = facts | {"get_home": document_data(job, None, timezone.now())["get_home"]}
    text = " ".join(" ".join(page.extract_text() for page in set_in(DocumentKind.CUSTOMER_SHEET, now).pages).split())
    assert ("If the unit fails on the road" in text) is said
    assert (f"get-home kit is {answer}" in text) is said
    assert ("Boot, left side." in text) is said


def test_what_was_read_with_the_pipe_on_is_not_drawn_on_the_curve_without_vacuum(facts):
    drawn = curve_picture(facts).svg
    readings = facts["strobe"]["final"]["readings"]
    pipe_on = readings[0] | {"measured_deg": readings[0]["measured_deg"] + 12, "vacuum_kpa": 40.0}
    facts["strobe"]["final"]["readings"] = [*readings, pipe_on]
    assert curve_picture(facts).svg == drawn
    facts["strobe"]["final"]["readings"] = [*readings, pipe_on | {"vacuum_kpa": None}]
    assert curve_picture(facts).svg != drawn


def test_the_customer_s_sheet_speaks_to_the_customer(facts):
    printed = " ".join(page.extract_text() for page in set_in(DocumentKind.CUSTOMER_SHEET, facts).pages)
    words = " ".join(printed.split())
    assert "Tell your insurer of the changed ignition." in words
    assert "Tell the customer" not in words
