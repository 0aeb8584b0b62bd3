"""The customer's sheet begins with a page for the person who owns the car; the workshop's figures follow behind."""

from io import BytesIO

import pypdf
import pytest
from django.utils import timezone

from jobs.documents.document_data import document_data
from jobs.documents.models import DocumentKind
from jobs.documents.setting import before_and_after, set_document
from jobs.handover.queries import sign_off_data


@pytest.fixture
def facts(job, signed_off):
    return document_data(job, sign_off_data(signed_off), timezone.now()) | {"number": 1, "issued_by": "Ines Marlow"}


def pages_of(facts):
    pages = pypdf.PdfReader(BytesIO(set_document(DocumentKind.CUSTOMER_SHEET, facts))).pages
    return [" ".join(page.extract_text().split()) for page in pages]


def test_the_first_page_is_for_the_owner_of_the_car_and_nothing_of_it_runs_over(facts):
    facts["workshop"] |= {"phone": "01632 960104"}
    first, second = pages_of(facts)[:2]
    for heading in ("What was done", "Before and after", "Look after it", "Do not touch", "Come back", "Reach us"):
        assert heading in first
        assert heading not in second
    assert "01632 960104" in first
    assert "Key-in list" not in first
    assert second.split(" BTDC")[0].count("What was set") == 1


def test_it_says_that_the_advance_is_locked_only_where_a_sheet_says_so(facts):
    assert "its own advance is locked" not in pages_of(facts)[0]
    row = {"key": "lock-method", "text": "How locked", "value": "pin through the weights", "unit": "", "note": ""}
    facts["sheets"] = [{"sections": [{"rows": [row]}]}]
    assert "its own advance is locked" in pages_of(facts)[0]


def test_the_picture_shows_the_rising_sweep_as_the_car_came_beside_the_map_it_leaves_with(facts):
    facts["inspection"]["sweep"] = [
        {"rpm": 1000, "degrees": 12.0, "direction": "rising"},
        {"rpm": 3000, "degrees": 30.0, "direction": "rising"},
        {"rpm": 2000, "degrees": 25.0, "direction": "falling"},
    ]
    drawn = str(before_and_after(facts).svg)
    assert "Advance before and after" in drawn
    assert "as found" in drawn
    facts["inspection"]["sweep"] = []
    assert "as found" not in str(before_and_after(facts).svg)
