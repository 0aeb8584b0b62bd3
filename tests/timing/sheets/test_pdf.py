"""Setting a document."""

import base64
import builtins
import io
import threading
import xml.etree.ElementTree as ElementTree
from datetime import UTC, datetime
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer

import pytest
from PIL import Image
from pypdf import PdfReader

from timing.errors import TimingError
from timing.sheets.pdf import DocumentLibraryMissing, Embedded, pdf_from_html
from timing.sheets.xmp import XmpProperty, XmpSchema

PAGE = '<html lang="en"><head><title>Sheet</title></head><body><h1>8° BTDC</h1>{}</body></html>'
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
PACKAGES = ("apt install libpango", "dnf install pango", "brew install pango", "Windows")


def set_page(extra="", created=NOON, stylesheet="@page { size: A4 }"):
    return pdf_from_html(PAGE.format(extra), stylesheet=stylesheet, created=created)


def read(pdf):
    return PdfReader(io.BytesIO(pdf))


def pictures(pdf):
    return [picture for page in read(pdf).pages for picture in page.images]


def red_square():
    png = io.BytesIO()
    Image.new("RGB", (2, 2), "red").save(png, "PNG")
    return png.getvalue()


@pytest.fixture
def photograph(tmp_path):
    path = tmp_path / "photograph.png"
    path.write_bytes(red_square())
    return path


@pytest.fixture
def served(photograph):
    """The address of a picture on this machine, and what was asked for."""
    asked = []

    class Listening(SimpleHTTPRequestHandler):
        def log_message(self, *told):
            asked.append(told)

    with ThreadingHTTPServer(("127.0.0.1", 0), partial(Listening, directory=photograph.parent)) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}/{photograph.name}", asked
        server.shutdown()


class TestReproducible:
    def test_the_same_page_gives_the_same_bytes(self):
        assert set_page() == set_page()

    def test_another_moment_gives_other_bytes(self):
        assert set_page() != set_page(created=datetime(2026, 3, 2, 13, tzinfo=UTC))

    def test_the_moment_stands_in_the_document(self):
        assert read(set_page()).metadata.creation_date == NOON


class TestTagged:
    def test_it_claims_pdf_ua_and_is_tagged(self):
        root = read(set_page()).trailer["/Root"]
        assert root["/MarkInfo"]["/Marked"]
        claim = root["/Metadata"].get_data().decode()
        assert "http://www.aiim.org/pdfua/ns/id/" in claim  # ISO 14289-1:2014, section 5
        assert root["/Lang"] == "en"
        assert read(set_page()).metadata.title == "Sheet"

    def test_the_page_is_that_of_the_style_sheet(self):
        [page] = read(set_page(stylesheet="@page { size: 50mm 25mm; margin: 0 } h1 { font-size: 8pt }")).pages
        width, height = (float(side) / 72 * 25.4 for side in (page.mediabox.width, page.mediabox.height))
        assert (width, height) == pytest.approx((50, 25), abs=0.05)
        assert "8° BTDC" in page.extract_text()

    def test_the_title_of_a_picture_on_the_page_is_left_alone(self):
        drawing = '<svg width="20" height="20"><title>Curve</title><path d="M0 0H9" stroke="#174E8C"/></svg>'
        content = read(set_page(drawing)).pages[0].get_contents().get_data()
        assert b"RG" in content  # a meta element inside it would end the drawing before its first line


class TestSealed:
    def test_a_picture_inside_the_page_is_set(self):
        inside = base64.b64encode(red_square()).decode()
        assert len(pictures(set_page(f'<img src="data:image/png;base64,{inside}" alt="">'))) == 1

    def test_a_picture_among_the_machine_s_files_is_not(self, photograph):
        assert pictures(set_page(f'<img src="{photograph.as_uri()}" alt="">')) == []

    def test_a_picture_on_the_network_is_neither_set_nor_asked_for(self, served):
        address, asked = served
        assert pictures(set_page(f'<img src="{address}" alt="">')) == []
        assert asked == []


class TestWhatIsMissing:
    def test_a_missing_text_library_is_said_with_the_packages_to_install(self, monkeypatch):
        real = builtins.__import__

        def without_pango(name, *args, **kwargs):
            if name.startswith("weasyprint"):
                raise OSError("cannot load library 'libpango-1.0-0'")
            return real(name, *args, **kwargs)

        monkeypatch.setattr(builtins, "__import__", without_pango)
        with pytest.raises(
            DocumentLibraryMissing, match=r"^Documents cannot be made: the text library Pango"
        ) as refusal:
            set_page()
        assert all(words in str(refusal.value) for words in PACKAGES)
        assert isinstance(refusal.value, TimingError)

    def test_a_document_without_a_single_letter_says_that_no_font_was_found(self):
        # A machine without fonts sets no letter; neither does a page without one.
        blank = '<html lang="en"><head><title>Sheet</title></head><body></body></html>'
        with pytest.raises(DocumentLibraryMissing, match=r"^Documents cannot be made: no font was found") as refusal:
            pdf_from_html(blank, stylesheet="@page { size: A4 }", created=NOON)
        assert all(words in str(refusal.value) for words in PACKAGES)


class TestOnOnePage:
    """A page of 50 by 25 mm (142 by 71 points) and a word on each of two lines: 20 points fit, 50 do not."""

    LABEL = '<html lang="en"><head><title>Label</title></head><body><p>one<br>two</p></body></html>'
    SHEET = "@page { size: 50mm 25mm; margin: 0 } p { margin: 0; line-height: 1; font-size: 50pt }"
    SMALLER = ("p { font-size: 40pt }", "p { font-size: 20pt }", "p { font-size: 10pt }")

    def laid(self, *one_page_by):
        asked = {"one_page_by": one_page_by} if one_page_by else {}
        pages = read(pdf_from_html(self.LABEL, stylesheet=self.SHEET, created=NOON, **asked)).pages
        sizes = set()

        def measure(_text, user, place, _font, size):
            sizes.add(round(size * abs(user[3] * place[3])))

        for page in pages:
            page.extract_text(visitor_text=measure)
        return len(pages), max(sizes)

    def test_the_first_size_at_which_everything_fits_is_taken(self):
        assert self.laid(*self.SMALLER) == (1, 20)
        assert self.laid("", "p { font-size: 20pt }") == (1, 20)

    def test_what_fits_as_it_is_stays_as_it_is(self):
        assert self.laid("p { font-size: 30pt }", "p { font-size: 10pt }") == (1, 30)

    def test_if_nothing_fits_the_last_is_taken_as_it_comes(self):
        pages, size = self.laid("p { font-size: 60pt }", "p { font-size: 40pt }")
        assert (pages, size) == (2, 40)

    def test_nothing_is_made_smaller_unasked(self):
        assert self.laid() == (2, 50)


def test_a_cell_that_is_just_full_is_broken_no_sooner_than_it_must():
    """The words are 167 to 170 pixels wide in DejaVu Sans of 12; the blank that ends the template's line is 4 more."""
    cell = "<table><tr><td>How the weights are locked\n</td></tr></table>"
    for width in (166, 168, 170):
        sheet = f"@page {{ size: A4 }} td {{ width: {width}px; padding: 0; font: 12px DejaVu Sans }}"
        words = read(set_page(cell, stylesheet=sheet)).pages[0].extract_text().splitlines()
        assert "How" not in words


class TestWithAFile:
    """Clauses from memory: ISO 19005-3, 6.6.2.3 and 6.8; ISO 14289-1, section 5."""

    FILE = Embedded(
        name="map.json",
        content=b"{}",
        description="The map",
        relationship="Data",
        announced_by=(
            XmpSchema("A thing <of ours>", "urn:x-ours:thing#", "ours", (XmpProperty("Kind", "a & b", "k"),)),
        ),
    )

    def made(self):
        return pdf_from_html(PAGE.format(""), stylesheet="@page { size: A4 }", created=NOON, embedded=self.FILE)

    def test_it_is_tagged_for_both_and_describes_its_own_properties_in_one_bag(self):
        said = ElementTree.fromstring(read(self.made()).trailer["/Root"]["/Metadata"].get_data())  # noqa: S314 - our own
        prefixes = [one.text for one in said.iter("{http://www.aiim.org/pdfa/ns/schema#}prefix")]
        assert prefixes == ["pdfuaid", "ours"]
        assert len([one for one in said.iter() if one.tag.endswith("}schemas")]) == 1
        assert [one.text for one in said.iter("{urn:x-ours:thing#}Kind")] == ["a & b"]
        assert [one.text for one in said.iter("{http://www.aiim.org/pdfua/ns/id/}part")] == ["1"]

    def test_the_file_is_associated_once_and_comes_back_whole(self):
        reader = read(self.made())
        [file] = reader.attachment_list
        assert (file.name, file.content, file.associated_file_relationship) == ("map.json", b"{}", "/Data")
        assert len(reader.trailer["/Root"]["/AF"]) == 1

    def test_the_same_page_and_file_give_the_same_bytes(self):
        assert self.made() == self.made()


def test_a_letter_that_no_font_has_is_said_in_words():
    text = read(set_page("<p>A\U000e9999B</p>")).pages[0].extract_text()
    assert "A\ufffdB" in text
    assert "\ufffd is a letter this machine has no font for: U+E9999." in text
