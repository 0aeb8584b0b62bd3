"""The bench record: who is who, contents and bookmarks, photographs, and what the owner overrode."""

from io import BytesIO
from uuid import uuid4

import pypdf
import pytest
from django.utils import timezone

from jobs.checklists.actions import record_photograph
from jobs.checklists.models import Outcome
from jobs.checklists.photographs import PAPER_SIDE, prepared
from jobs.documents.bench_record import signs_of
from jobs.documents.document_data import document_data
from jobs.documents.models import DocumentKind
from jobs.documents.setting import set_document
from jobs.handover.queries import sign_off_data
from tests.checklists.factories import enter, photograph, sheet_with, signed_by

ITEMS = [{"key": "bay", "kind": "photo", "text": "Engine bay as found"}, {"key": "lock", "hold_point": True}]


@pytest.fixture
def sheet(job, mechanic):
    return sheet_with(ITEMS, person=mechanic, job=job)


def facts_of(job, signed_off):
    return document_data(job, sign_off_data(signed_off), timezone.now()) | {"number": 1, "issued_by": "Ines Marlow"}


def take(sheet, person, size=(2048, 1536)):
    picture = prepared(BytesIO(photograph(*size)))
    return record_photograph(
        sheet=sheet, key="bay", id=uuid4(), entry_id=uuid4(), picture=picture, actor=signed_by(person)
    )


def read(facts):
    return pypdf.PdfReader(BytesIO(set_document(DocumentKind.BENCH_RECORD, facts)))


def text_of(reader):
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def pictures_in(reader):
    # Every page names the pictures of the whole document.
    return list({image.name: image.image for page in reader.pages for image in page.images}.values())


def test_a_photograph_is_on_it_made_small_with_what_it_shows(sheet, mechanic, job, signed_off):
    take(sheet, mechanic)
    reader = read(facts_of(job, signed_off))
    (picture,) = pictures_in(reader)
    assert max(picture.size) == PAPER_SIDE
    assert f"Fitting 1, Engine bay as found. {mechanic}" in text_of(reader)


def test_a_photograph_that_is_gone_is_said_and_the_record_is_set_all_the_same(sheet, mechanic, job, signed_off):
    taken = take(sheet, mechanic, (320, 240))
    facts = facts_of(job, signed_off)
    taken.file.storage.delete(taken.file.name)
    reader = read(facts)
    assert pictures_in(reader) == []
    assert "Photograph missing or damaged" in text_of(reader)


def test_contents_and_bookmarks_lead_to_each_part(sheet, job, signed_off):
    reader = read(facts_of(job, signed_off))
    titles = [entry["/Title"] for entry in reader.outline[1] if not isinstance(entry, list)]
    for part in ("Work required", "As found", "Fitting", "Base timing", "Map version 1"):
        assert part in titles
        assert f"{part} " in reader.pages[0].extract_text() or f"{part}." in reader.pages[0].extract_text()
    links = [note.get_object() for page in reader.pages for note in page.get("/Annots", [])]
    assert sum(link["/Subtype"] == "/Link" for link in links) >= 5


def test_what_the_owner_overrode_stands_at_its_beginning_with_the_reason(sheet, owner, mechanic, job, signed_off):
    enter(sheet, "lock", owner, outcome=Outcome.LET_PASS, note="pin comes on Friday")
    facts = facts_of(job, signed_off)
    facts["let_through"] = [
        {"left": "fitting", "missing": ["lock"], "reason": "towed out", "by": "Rowan Vale", "at": facts["made_at"]}
    ]
    text = text_of(read(facts))
    assert f"2 Lock: overridden by {owner}" in text
    assert "pin comes on Friday" in text.split("2 Lock: overridden by")[1]
    assert "Fitting, missing: lock. Overridden by Rowan Vale" in text


def test_initials_say_who_and_no_two_people_share_them(sheet, mechanic, job, signed_off):
    assert signs_of(["Ines Marlow", "Ivo Marsh", "Tam Okoro", "Ines Marlow"]) == {
        "Ines Marlow": "IM",
        "Ivo Marsh": "IM2",
        "Tam Okoro": "TO",
    }
    enter(sheet, "lock", mechanic)
    text = text_of(read(facts_of(job, signed_off)))
    sign = signs_of([str(mechanic)])[str(mechanic)]
    assert f"In the tables: {sign} {mechanic}" in text
    assert f"done {sign}, " in text
