"""What every paper says of itself to programs and to readers that read aloud, found with pypdf.

Clauses from memory: ISO 14289-1 (PDF/UA-1) 7.1 to 7.9, ISO 19005-3 (PDF/A-3) 6.2 to 6.7. These are the
entries by which a paper is tagged for both; `tests/papers` has a checker from outside.
"""

import itertools
import xml.etree.ElementTree as ElementTree
from io import BytesIO

import pypdf
import pytest

from jobs.documents.models import DocumentKind

pytestmark = pytest.mark.django_db

PDF_UA, PDF_A = "{http://www.aiim.org/pdfua/ns/id/}", "{http://www.aiim.org/pdfa/ns/id/}"
SCHEMA = "{http://www.aiim.org/pdfa/ns/schema#}"
PAGES = {
    DocumentKind.CUSTOMER_SHEET: 3,
    DocumentKind.BENCH_RECORD: 1,
    DocumentKind.RESTORE_SHEET: 2,
    DocumentKind.LABEL: 1,
}
HEADINGS = {
    DocumentKind.CUSTOMER_SHEET: ["Ignition sheet", "What was done", "Before and after"],
    DocumentKind.BENCH_RECORD: ["Bench record", "Work required"],
    DocumentKind.RESTORE_SHEET: ["Restore sheet", "Before you start", "What is fitted"],
    DocumentKind.LABEL: ["HLM 0 A"],
}
FIGURES = {
    DocumentKind.CUSTOMER_SHEET: ["Advance as the car leaves", "Advance of map version 1"],
    DocumentKind.BENCH_RECORD: [],
    DocumentKind.RESTORE_SHEET: ["Camera code that holds the text below"],
    DocumentKind.LABEL: ["Camera code that holds the whole map as text"],
}


@pytest.fixture
def reader(papers, kind):
    return pypdf.PdfReader(BytesIO(papers.of("plain", kind)))


@pytest.fixture
def root(reader):
    return reader.trailer["/Root"]


def elements(node, above=()):
    """Every element of the tree of tags, with those it stands in."""
    node = node.get_object()
    if isinstance(node, list):
        for one in node:
            yield from elements(one, above)
    elif isinstance(node, dict) and "/S" in node:
        yield node, above
        yield from elements(node.get("/K", []), (*above, node["/S"]))


def metadata(root):
    return ElementTree.fromstring(root["/Metadata"].get_data())  # noqa: S314 - our own


def test_it_says_that_it_is_made_by_pdf_a_3a_and_pdf_ua_1(root):
    said = metadata(root)
    assert [one.get(f"{PDF_A}part") for one in said.iter() if one.get(f"{PDF_A}part")] == ["3"]
    assert [one.get(f"{PDF_A}conformance") for one in said.iter() if one.get(f"{PDF_A}part")] == ["A"]
    assert [one.text for one in said.iter(f"{PDF_UA}part")] == ["1"]


def test_properties_that_pdf_a_does_not_know_are_described_once(root):
    described = [one.text for one in metadata(root).iter(f"{SCHEMA}namespaceURI")]
    assert described == ["http://www.aiim.org/pdfua/ns/id/"]
    bags = [one for one in metadata(root).iter() if one.tag.endswith("}schemas")]
    assert len(bags) == 1


def test_title_language_colours_and_identifier_are_there(reader, root):
    assert root["/Lang"] == "en-GB"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert "HLM 0 A" in reader.metadata.title
    assert root["/MarkInfo"]["/Marked"]
    assert root["/OutputIntents"][0]["/S"] == "/GTS_PDFA1"
    assert len(reader.trailer["/ID"]) == 2
    assert not reader.is_encrypted


def test_the_moment_is_the_same_in_both_places(reader, root):
    [created] = [one.text for one in metadata(root).iter("{http://ns.adobe.com/xap/1.0/}CreateDate")]
    assert reader.metadata.creation_date.isoformat() == created


def test_headings_begin_with_the_title_and_skip_no_level(root, kind, reader):
    levels = [int(node["/S"][2:]) for node, _ in elements(root["/StructTreeRoot"]["/K"]) if node["/S"][:2] == "/H"]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(later - level <= 1 for level, later in itertools.pairwise(levels))
    text = " ".join(reader.pages[0].extract_text().split())
    assert all(heading in text for heading in HEADINGS[kind])


def test_each_picture_has_words_for_who_cannot_see_it(root, kind):
    found = [node.get("/Alt") for node, _ in elements(root["/StructTreeRoot"]["/K"]) if node["/S"] == "/Figure"]
    assert found == FIGURES[kind]


def test_each_table_has_headers_and_each_cell_names_its_own(root):
    tables = [node for node, _ in elements(root["/StructTreeRoot"]["/K"]) if node["/S"] == "/Table"]
    for table in tables:
        inside = [node for node, _ in elements(table["/K"])]
        cells = [node for node in inside if node["/S"] == "/TD"]
        assert any(node["/S"] == "/TH" for node in inside)
        assert all(cell["/A"].get("/Headers") for cell in cells)


def test_it_has_the_pages_it_should(reader, kind):
    assert len(reader.pages) == PAGES[kind]


def test_no_reader_is_asked_to_smooth_a_picture(reader):
    drawn = [one for one in reader.xref[0] if isinstance(reader.get_object(one), dict)]
    assert [one for one in drawn if reader.get_object(one).get("/Interpolate")] == []
