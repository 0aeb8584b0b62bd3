"""A PDF that was brought in is opened under limits: whatever it is, one sentence is said of it."""

import subprocess
import sys
import zlib
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader, PdfWriter

from jobs.settings_file.out_of_pdf import LARGEST_PDF, MOST_PAGES, settings_in
from jobs.settings_file.pdf_reader import MEMORY
from jobs.settings_file.refusals import SheetRefusedError
from tests.settings_file import hostile

TOO_MUCH = "This PDF takes too much to open. It is not a sheet of ours."
ROOT = Path(__file__).resolve().parents[2]
# The largest of this process's own children, of which the reader is the only one. [kB]
OPENED_AND_MEASURED = """
import resource, sys
from jobs.settings_file.out_of_pdf import settings_in
from jobs.settings_file.refusals import SheetRefusedError
try:
    settings_in(sys.stdin.buffer.read())
except SheetRefusedError as refusal:
    print(refusal)
print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)
"""
NOTHING = "This PDF has no settings in it. Only papers that name a map have."


@pytest.mark.parametrize(
    ("pdf", "said"),
    [
        (b"", "This is not a PDF."),
        (b"\x89PNG\r\n", "This is not a PDF."),
        (b"%PDF-1.7" + bytes(LARGEST_PDF), "This file is larger than 10 MB. A sheet of ours is smaller."),
        (hostile.with_file(b"{}", name=b"letter.json"), NOTHING),
        (hostile.with_file(b"{}", pages=MOST_PAGES + 1), "more than 400 pages"),
        (hostile.with_file(b"{}")[:-120], "This PDF is damaged."),
        (hostile.pdf(b"[" * 1_000_000), TOO_MUCH),
        (hostile.names_in_a_circle(), NOTHING),
        (hostile.names_without_end(), NOTHING),
        (hostile.with_file(b"x" * 1_100_000), TOO_MUCH),
    ],
    ids=["empty", "picture", "large", "other", "pages", "cut", "deep", "circle", "without end", "large file"],
)
def test_what_is_no_sheet_is_refused_in_one_sentence(pdf, said):
    with pytest.raises(SheetRefusedError) as refusal:
        settings_in(pdf)
    assert said in str(refusal.value)
    assert len(refusal.value.reasons) == 1


@pytest.mark.parametrize("made", [hostile.bomb_in_the_file, hostile.bomb_in_an_object_stream])
def test_a_pdf_that_unpacks_to_10_gigabytes_costs_neither_memory_nor_minutes(made):
    """25 KB that unpack, twice over, to 10 GB; the caller ends the process that opens it after 20 seconds."""
    bomb = made()
    assert len(bomb) < 50_000
    told = subprocess.run(
        [sys.executable, "-c", OPENED_AND_MEASURED], input=bomb, capture_output=True, check=True, cwd=ROOT, timeout=60
    )
    said, largest = told.stdout.decode().splitlines()
    assert said == TOO_MUCH
    assert int(largest) * 1024 < MEMORY


def test_a_bomb_made_here_is_one():
    """Else the tests above prove nothing: a smaller one of the same make unpacks to what it says."""
    assert len(zlib.decompressobj().decompress(hostile.zeros(4 << 20))) == 4 << 20


def test_a_locked_pdf_is_not_guessed_at():
    writer = PdfWriter(clone_from=PdfReader(BytesIO(hostile.with_file(b"{}"))))
    writer.encrypt("a password", algorithm="RC4-128")
    locked = BytesIO()
    writer.write(locked)
    with pytest.raises(SheetRefusedError, match="locked with a password"):
        settings_in(locked.getvalue())


def test_the_settings_of_two_cars_in_one_pdf_are_not_chosen_between():
    twice = hostile.with_file(b"{}").replace(
        b"/Names [(car-settings.json) 4 0 R]", b"/Names [(car-settings.json) 4 0 R (second) 4 0 R]"
    )
    with pytest.raises(SheetRefusedError):
        settings_in(twice)


def test_the_file_comes_out_byte_for_byte():
    assert settings_in(hostile.with_file(b'{"a": "\xc3\xa9"}\r\n')) == b'{"a": "\xc3\xa9"}\r\n'
