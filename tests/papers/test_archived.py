"""What PDF/A-3 (ISO 19005-3) asks of a paper with a file in it, as far as it can be told from the file, with pikepdf.

No validator of PDF/A runs without Java, and PyPI has none that judges by itself; each requirement is named by its
clause, from memory. The papers are therefore 'tagged for' PDF/A-3a, and no more is said.
"""

import xml.etree.ElementTree as ElementTree
from io import BytesIO

import pikepdf
import pytest

from jobs.documents.models import DocumentKind
from tests.papers.conftest import HARD, OF_A_CAR

pytestmark = pytest.mark.django_db

PDF_A = "{http://www.aiim.org/pdfa/ns/id/}"
# 6.2.2: operators of PDF 1.7 (ISO 32000-1, annex A), nothing else.
OPERATORS = {
    *("b", "B", "b*", "B*", "BDC", "BI", "BMC", "BT", "BX", "c", "cm", "CS", "cs", "d", "d0", "d1", "Do", "DP", "EI"),
    *("EMC", "ET", "EX", "f", "F", "f*", "G", "g", "gs", "h", "i", "ID", "j", "J", "K", "k", "l", "m", "M", "MP", "n"),
    *("q", "Q", "re", "RG", "rg", "ri", "s", "S", "SC", "sc", "SCN", "scn", "sh", "T*", "Tc", "Td", "TD", "Tf", "Tj"),
    *("TJ", "TL", "Tm", "Tr", "Ts", "Tw", "Tz", "v", "w", "W", "W*", "y", "'", '"'),
}


@pytest.fixture(params=[case for case in OF_A_CAR if case[0] in {"plain", "boost", HARD}], ids=str)
def pdf(request, paper_of):
    with pikepdf.open(BytesIO(paper_of(*request.param))) as opened:
        yield opened


def dictionaries(pdf, **of):
    """Every dictionary of the file, streams included, that has such entries."""
    for one in pdf.objects:
        if isinstance(one, pikepdf.Dictionary | pikepdf.Stream) and all(one.get(f"/{k}") == v for k, v in of.items()):
            yield one


def test_file_structure(pdf):
    """6.1: no encryption, an identifier, nothing but what PDF 1.7 packs streams by, and no stream kept elsewhere."""
    assert not pdf.is_encrypted
    assert len(pdf.trailer["/ID"]) == 2
    for stream in (one for one in pdf.objects if isinstance(one, pikepdf.Stream)):
        packed = stream.get("/Filter", [])
        names = [packed] if isinstance(packed, pikepdf.Name) else list(packed)
        assert set(map(str, names)) <= {"/FlateDecode", "/DCTDecode"}
        assert not {"/F", "/FFilter", "/FDecodeParms"} & set(stream.keys())


def test_content_has_operators_of_the_standard_alone(pdf):
    """6.2.2"""
    for page in pdf.pages:
        assert {str(one.operator) for one in pikepdf.parse_content_stream(page)} <= OPERATORS


def test_colours_have_a_profile(pdf):
    """6.2.3 and 6.2.4: one output intent with its profile, of as many components as it says."""
    [intent] = pdf.Root.OutputIntents
    profile = intent.DestOutputProfile
    assert intent.S == "/GTS_PDFA1"
    assert (int(profile.N), profile.read_bytes()[16:20]) == (3, b"RGB ")  # ICC.1:2010, 7.2: the colour space
    # Of device colours only those of the intent, and grey.
    used = {str(one.operator) for page in pdf.pages for one in pikepdf.parse_content_stream(page)}
    assert not {"k", "K"} & used
    for picture in dictionaries(pdf, Subtype=pikepdf.Name.Image):
        assert str(picture.ColorSpace) in {"/DeviceRGB", "/DeviceGray"}
        assert not picture.get("/Interpolate", False)
        assert not {"/Alternates", "/OPI"} & set(picture.keys())


def test_what_shines_through_has_a_space_to_blend_in(pdf):
    """6.2.10: transparency on a page needs a blending space; the output intent's does, and none is drawn by another."""
    for state in dictionaries(pdf):
        if "/ca" in state or "/CA" in state or "/SMask" in state:
            assert str(state.get("/BM", "/Normal")) in {"/Normal", "/Compatible"}
    assert pdf.Root.OutputIntents[0].DestOutputProfile.N == 3


def test_every_font_goes_along_and_its_letters_can_be_read(pdf):
    """6.2.11: fonts in the file, with widths and with what each glyph stands for."""
    fonts = list(dictionaries(pdf, Type=pikepdf.Name.Font))
    assert fonts
    for font in fonts:
        if font.Subtype == "/Type0":
            assert "/ToUnicode" in font
            assert font.Encoding == "/Identity-H"
        elif font.Subtype in {"/CIDFontType0", "/CIDFontType2"}:
            assert {"/FontFile2", "/FontFile3"} & set(font.FontDescriptor.keys())
            assert "/W" in font
            assert font.Subtype == "/CIDFontType0" or "/CIDToGIDMap" in font
        else:
            assert font.Subtype == "/Type3"


def test_nothing_acts_and_every_note_on_a_page_is_printed(pdf):
    """6.3 and 6.6.1: no script, no action but going to a place, and no annotation that hides."""
    assert not {"/OpenAction", "/AA", "/AcroForm"} & set(pdf.Root.keys())
    assert list(dictionaries(pdf, S=pikepdf.Name.JavaScript)) == []
    assert list(dictionaries(pdf, S=pikepdf.Name.Launch)) == []
    for note in dictionaries(pdf, Type=pikepdf.Name.Annot):
        assert int(note.F) & 4  # printed
        assert not int(note.F) & (1 | 2 | 32)  # neither invisible, nor hidden, nor out of view


def test_what_it_says_of_itself(pdf):
    """6.6.2 to 6.6.4: XMP that can be read as it lies, its part and level, and the same title in both places."""
    packet = pdf.Root.Metadata
    said = ElementTree.fromstring(packet.read_bytes())  # noqa: S314 - our own
    [part] = [one for one in said.iter() if one.get(f"{PDF_A}part")]
    assert (part.get(f"{PDF_A}part"), part.get(f"{PDF_A}conformance")) == ("3", "A")
    titles = ["".join(one.itertext()).strip() for one in said.iter("{http://purl.org/dc/elements/1.1/}title")]
    assert titles == [str(pdf.docinfo["/Title"])]


def test_the_file_that_goes_along(pdf):
    """6.8 with ISO 19005-3, annex E: its kind, both its names, how it belongs to the paper, when it was made."""
    [name, along] = pdf.Root.Names.EmbeddedFiles.Names
    assert str(name) == "car-settings.json" == str(along.F) == str(along.UF)
    assert along.AFRelationship == "/Data"
    assert [one.objgen for one in pdf.Root.AF] == [along.objgen]
    inside = along.EF.F
    assert inside.Subtype == "/application/json"
    assert "/ModDate" in inside.Params
    assert int(inside.Params.Size) == len(inside.read_bytes())


def test_every_mark_on_a_page_is_in_the_tree_or_an_artifact(pdf):
    """6.7.3 (level A): what the page paints is tagged, and each tag leads to an element of the tree."""
    tree = pdf.Root.StructTreeRoot.ParentTree.Nums
    of_pages = {int(tree[place]): tree[place + 1] for place in range(0, len(tree), 2)}
    for page in pdf.pages:
        elements = of_pages[int(page.StructParents)]
        depth = 0
        for one in pikepdf.parse_content_stream(page):
            operator = str(one.operator)
            if operator in {"BDC", "BMC"}:
                depth += 1
                if operator == "BDC" and "/MCID" in one.operands[1]:
                    assert is_in_tree(elements[int(one.operands[1].MCID)], pdf.Root.StructTreeRoot)
            elif operator == "EMC":
                depth -= 1
            elif operator in {"Tj", "TJ", "S", "f", "Do", "sh"}:
                assert depth > 0, one
        assert depth == 0


def is_in_tree(element, root):
    """Whether the way up from an element comes to the root, each being a child of the one above."""
    while element.objgen != root.objgen:
        above = element.P
        children = above.K if isinstance(above.K, pikepdf.Array) else [above.K]
        if element.objgen not in [getattr(child, "objgen", None) for child in children]:
            return False
        element = above
    return True


def test_every_kind_of_paper_of_a_car_is_looked_at():
    assert {kind for name, kind in OF_A_CAR if name == "plain"} == set(DocumentKind)
