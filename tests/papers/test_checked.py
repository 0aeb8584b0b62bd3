"""Every paper under a checker from outside, by the rules of PDF/UA-1 (ISO 14289-1) and of those who read aloud.

Nothing may be found but what is named here with its reason. What is named has to be found: a limit that is gone is
taken out again.
"""

import pytest

from jobs.documents.models import DocumentKind
from tests.documents import hard
from tests.papers.checker import found_by_outloud
from tests.papers.conftest import HARD, OF_A_CAR, OTHERS

pytestmark = pytest.mark.django_db

LONG_KEY_IN_LIST = "16 points and 80 cells"

ONE_PAGE = {"TAG-002": "on a single page the checker takes the foot for prose; the same words begin the page, tagged"}
REPEATED = {"PAG-001": "the head of a table that goes on is repeated, as it should be"}
ENDLESS = {"PAG-001": "pages of one endless word begin with the same letters"}
FOR_A_PEN = {
    "TAG-020": "boxes and lines for a pen hold nothing",
    "TBL-012": "a table for a pen is empty",
    "PAG-001": "each sheet begins with the car it is for, as loose sheets must",
}
SPLIT_ROW = {
    "TBL-001": "WeasyPrint 70 repeats no head where one row alone is longer than a page",
    "TBL-012": "of that row the other cells were on the page before",
}
NAMED = {
    **{
        (name, DocumentKind.BENCH_RECORD): ONE_PAGE
        for name, kind in OF_A_CAR
        if kind == DocumentKind.BENCH_RECORD and name not in {HARD, LONG_KEY_IN_LIST}
    },
    (LONG_KEY_IN_LIST, DocumentKind.CUSTOMER_SHEET): REPEATED,
    (LONG_KEY_IN_LIST, DocumentKind.RESTORE_SHEET): REPEATED,
    (HARD, DocumentKind.BENCH_RECORD): SPLIT_ROW | ENDLESS,
    (HARD, DocumentKind.RESTORE_SHEET): {"TBL-011": "as TBL-001: of a row longer than a page"} | ENDLESS,
    "blank sheets": FOR_A_PEN,
    "tape": {"ORD-001": "drawings are painted before the words beside them; the tags are in order"},
    "quote": {"TBL-010": "of a quote with one line the checker counts more heads than cells"},
}


@pytest.mark.parametrize(("name", "kind"), OF_A_CAR)
def test_nothing_is_found_on_a_paper_of_a_car(paper_of, name, kind, tmp_path):
    found = found_by_outloud(paper_of(name, kind), tmp_path)
    assert set(found) == set(NAMED.get((name, kind), {})), found


@pytest.mark.parametrize("name", OTHERS)
def test_nothing_is_found_on_the_other_papers(other_paper, name, tmp_path):
    found = found_by_outloud(other_paper(name), tmp_path)
    assert set(found) == set(NAMED.get(name, {})), found


def test_the_checker_finds_what_is_wrong(tmp_path):
    """So that its silence means something: a picture without words, and a table without heads."""
    from weasyprint import HTML

    drawing = "<svg width=50 height=50><rect width=50 height=50 /></svg>"
    row = f"<tr><td>{hard.CYRILLIC}</td><td>one</td><td>two</td></tr>"
    page = f"<html lang=en><title>A page</title><body>{drawing}<table>{row * 3}</table>"
    found = found_by_outloud(HTML(string=page).write_pdf(pdf_variant="pdf/ua-1"), tmp_path)
    assert {"FIG-001", "TBL-001"} <= set(found)
