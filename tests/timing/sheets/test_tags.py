"""What stands in the tags of a document besides what WeasyPrint puts there, read with pikepdf.

Clauses from memory: ISO 14289-1, 7.8 (running lines are artifacts); ISO 32000-1, 14.8.5.7 (the scope of a header).
"""

from datetime import UTC, datetime
from io import BytesIO

import pikepdf
import pytest

from timing.sheets.pdf import pdf_from_html

STYLE = """
@page { size: A5; margin: 20mm; @top-left { content: "Above every page" } @bottom-left { content: counter(page) } }
p { break-after: page }
"""
TABLE = """<table>
  <thead><tr><th scope="col">rpm</th><th scope="col">advance</th></tr></thead>
  <tbody>
    <tr><th colspan="2" scope="rowgroup">pipe off</th></tr>
    <tr><th scope="row">900</th><td>8</td></tr>
  </tbody>
</table>"""


@pytest.fixture
def pdf():
    page = f'<html lang="en"><title>A page</title><p>First</p><p>Second</p>{TABLE}</html>'
    with pikepdf.open(BytesIO(pdf_from_html(page, stylesheet=STYLE, created=datetime(2026, 5, 14, tzinfo=UTC)))) as it:
        yield it


def marked(page):
    """What each piece of text on a page is marked as: its kind, and its number among the tags."""
    above = []
    for one in pikepdf.parse_content_stream(page):
        match str(one.operator):
            case "BDC":
                above.append((str(one.operands[0]), one.operands[1].get("/MCID")))
            case "BMC":
                above.append((str(one.operands[0]), None))
            case "EMC":
                above.pop()
            case "TJ":
                yield above[-1]


def test_running_lines_are_artifacts_and_the_text_of_the_page_is_tagged(pdf):
    for page in pdf.pages:
        kinds = list(marked(page))
        assert kinds.count(("/Artifact", None)) == 2  # above and below
        assert all(number is not None for kind, number in kinds if kind != "/Artifact")
        assert len(kinds) > 2


def test_nothing_leads_from_a_running_line_to_a_tag(pdf):
    tags = pdf.Root.StructTreeRoot.ParentTree.Nums
    for place, page in enumerate(pdf.pages):
        numbers = {int(number) for _, number in marked(page) if number is not None}
        led_to = {number for number, tag in enumerate(tags[2 * place + 1]) if tag is not None}
        assert led_to == numbers


def test_a_header_says_whether_it_heads_a_column_or_a_row(pdf):
    headers = [one for one in pdf.objects if isinstance(one, pikepdf.Dictionary) and one.get("/S") == "/TH"]
    assert [str(one.A.Scope) for one in headers] == ["/Column", "/Column", "/Column", "/Row"]
