"""Cars and records as far apart as they can be: each paper lays out, nothing is cut, nothing lies on something else."""

import hashlib
from io import BytesIO
from uuid import uuid4

import pypdf
import pytest
from django.core.files.base import ContentFile
from django.utils import timezone
from PIL import Image

from jobs.checklists.actions import record_photograph
from jobs.checklists.models import Photograph
from jobs.checklists.photographs import PhotographRefusedError, prepared
from jobs.documents import pictures
from jobs.documents.document_data import document_data
from jobs.documents.models import DocumentKind
from jobs.documents.setting import set_document
from tests.checklists.factories import photograph, sheet_with, signed_by
from tests.documents import hard
from tests.documents.cars import MAPS
from tests.documents.laid_out import pages_of

pytestmark = pytest.mark.django_db

LISTS_ENTRIES = {DocumentKind.CUSTOMER_SHEET, DocumentKind.RESTORE_SHEET, DocumentKind.BENCH_RECORD}
SAYS = {
    "16 points and 80 cells": {DocumentKind.RESTORE_SHEET: "vacuum cell 8000 rpm 80 kPa"},
    "boost": {DocumentKind.RESTORE_SHEET: "90 kPa"},
    "no vacuum": {DocumentKind.CUSTOMER_SHEET: "Total advance without vacuum"},
    "one cylinder": {DocumentKind.LABEL: "Firing order 1."},
    "plain": {DocumentKind.LABEL: "Rev limit 6000 rpm"},
}


@pytest.mark.parametrize("name", MAPS)
def test_every_entry_of_every_map_is_on_paper_whole_and_by_itself(papers, name, kind, tmp_path):
    pages = pages_of(papers.of(name, kind), tmp_path)
    assert [page.beyond_the_edge for page in pages if page.beyond_the_edge] == []
    assert [page.on_top_of_each_other for page in pages if page.on_top_of_each_other] == []
    text = " ".join(word.text for page in pages for word in page.words)
    assert SAYS[name].get(kind, "") in text
    if kind in LISTS_ENTRIES:
        lines = papers.facts[name]["map"]["lines"]
        assert len(lines) == {"16 points and 80 cells": 98, "boost": 43}.get(name, len(lines))
        for line in lines:
            assert f"{line['position']} {line['words']} " in text or line["words"].split()[-1] in text
            assert str(line["value"]) in text


def test_what_is_hard_to_set_lies_nowhere_on_something_else(papers, kind, tmp_path):
    pages = pages_of(set_document(kind, hard.hard(papers.facts["plain"])), tmp_path)
    assert [page.beyond_the_edge for page in pages if page.beyond_the_edge] == []
    assert [page.on_top_of_each_other for page in pages if page.on_top_of_each_other] == []


def huge(side=10_000):
    """A photograph of 100 megapixels."""
    out = BytesIO()
    Image.new("L", (side, side), 180).save(out, "JPEG")
    return out.getvalue()


@pytest.fixture
def taken(job, mechanic):
    """A photograph on the fitting sheet."""
    sheet = sheet_with([{"key": "bay", "kind": "photo", "text": "Engine bay"}], person=mechanic, job=job)
    picture = prepared(BytesIO(photograph(640, 480)))
    return record_photograph(
        sheet=sheet, key="bay", id=uuid4(), entry_id=uuid4(), picture=picture, actor=signed_by(mechanic)
    )


def test_a_photograph_of_100_megapixels_is_refused_before_it_is_on_a_record():
    with pytest.raises(PhotographRefusedError, match="50 million"):
        prepared(BytesIO(huge()))


@pytest.mark.parametrize("content", [huge(), b"no picture"], ids=["100 megapixels", "no picture"])
def test_what_somebody_else_put_in_its_place_is_said_and_the_record_is_set_all_the_same(
    job, taken, content, monkeypatch
):
    told = pictures.photographs_taken(job)
    sha256 = hashlib.sha256(content).hexdigest()
    # The book refuses another hash for a photograph: here somebody changed file and book from outside.
    changed = Photograph.objects.get(pk=taken.pk)
    changed.sha256 = sha256
    changed.file.save("another.jpg", ContentFile(content), save=False)
    monkeypatch.setattr(Photograph._default_manager, "in_bulk", lambda ids: {changed.pk: changed})
    facts = document_data(job, None, timezone.now()) | {"number": 1, "issued_by": "Ines Marlow"}
    facts["photographs"] = [told[0] | {"sha256": sha256}]
    reader = pypdf.PdfReader(BytesIO(set_document(DocumentKind.BENCH_RECORD, facts)))
    assert "Photograph missing or damaged" in " ".join(reader.pages[-1].extract_text().split())
