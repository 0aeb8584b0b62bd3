"""Papers of which everything is hard to set: nothing is cut, and every letter has a shape in a font that goes along.

Read with Poppler (`pdftotext -bbox`), which knows nothing of us.
"""

from io import BytesIO

import pypdf
import pytest

from jobs.documents.models import DocumentKind
from jobs.documents.setting import set_document
from tests.documents import hard
from tests.documents.laid_out import pages_of
from timing.sheets.letters import REPLACEMENT

pytestmark = pytest.mark.django_db

# How often the note of 5,000 characters, or its beginning, stands on a paper.
LONG = {
    DocumentKind.CUSTOMER_SHEET: 5000 + 300 + 300 + 400,
    DocumentKind.BENCH_RECORD: 5000 + 5000 + 400,
    DocumentKind.RESTORE_SHEET: 5000,
    DocumentKind.LABEL: 0,
}
# Which names stand on it.
NAMED = {
    DocumentKind.CUSTOMER_SHEET: hard.NAMES,
    DocumentKind.BENCH_RECORD: hard.NAMES,
    DocumentKind.RESTORE_SHEET: (hard.GREEK, hard.ARABIC, hard.HEBREW, hard.HAN, hard.JAPANESE),
    DocumentKind.LABEL: (hard.JAPANESE,),
}


def words_on(pdf, folder):
    """Each word of a paper with the share of its page's width at which it begins and ends."""
    for page in pages_of(pdf, folder):
        for word in page.words:
            yield word.text, word.left / page.width, word.right / page.width


@pytest.fixture(scope="module")
def hard_papers(papers):
    facts = hard.hard(papers.facts["plain"])
    return {kind: set_document(kind, facts) for kind in DocumentKind}


def test_nothing_is_cut_whatever_the_script_and_however_long_a_word(hard_papers, kind, tmp_path):
    words = list(words_on(hard_papers[kind], tmp_path))
    text = "".join(word for word, _, _ in words)
    assert text.count(hard.ZHE) == LONG[kind]
    for name in NAMED[kind]:
        # Poppler gives what is written from right to left in the order in which it lies on the paper.
        assert all(part in text or part[::-1] in text for part in name.split()), name
    assert REPLACEMENT not in text
    assert [word for word, left, right in words if left < 0 or right > 1] == []


def test_what_stands_beside_a_name_from_right_to_left_stays_on_its_side(hard_papers, tmp_path):
    """By UAX #9 the date would stand to the left of the name; here it follows it."""
    words = list(words_on(hard_papers[DocumentKind.CUSTOMER_SHEET], tmp_path))
    read_back_by = next(place for place, (word, _, _) in enumerate(words) if word == "switching") + 5
    name, day = words[read_back_by : read_back_by + 3], words[read_back_by + 3]
    # Poppler gives words from left to right here, and their letters too.
    assert [word.strip(",")[::-1] for word, _, _ in name] == hard.ARABIC.split()[::-1]
    assert day[0].isdigit()
    assert name[-1][2] < day[1]


def test_every_font_goes_along(hard_papers, kind):
    fonts = []
    for page in pypdf.PdfReader(BytesIO(hard_papers[kind])).pages:
        for font in page["/Resources"]["/Font"].values():
            [of_signs] = font.get_object()["/DescendantFonts"]
            fonts.append(of_signs.get_object()["/FontDescriptor"])
    assert fonts
    assert all("/FontFile2" in font or "/FontFile3" in font for font in fonts)


def test_a_letter_that_no_font_has_is_said_by_its_number_and_not_shown_as_a_box(papers, tmp_path, kind):
    facts = papers.facts["plain"]
    facts = facts | {"workshop": facts["workshop"] | {"name": f"{hard.THAI} Motors"}}
    text = " ".join(word for word, _, _ in words_on(set_document(kind, facts), tmp_path))
    assert f"{REPLACEMENT} is a letter this machine has no font for: U+0E0A, U+0E21" in text
    assert f"{REPLACEMENT * len(hard.THAI)} Motors" in text
    assert not set(hard.THAI) & set(text)
