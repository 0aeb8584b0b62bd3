"""The restore sheet and the code for a camera: enough to put a car back after a dead unit, without a network."""

import subprocess
from io import BytesIO
from uuid import uuid4

import numpy as np
import pypdf
import pytest
import zxingcpp
from django.utils import timezone

from jobs.documents.document_data import document_data
from jobs.documents.models import DocumentKind
from jobs.documents.setting import set_document
from jobs.handover.actions import HandoverRuleError, issue_document
from jobs.handover.queries import sign_off_data
from jobs.maps.unit_fit import lines_of
from timing.map_text import map_from_text


@pytest.fixture
def facts(job, signed_off):
    return document_data(job, sign_off_data(signed_off), timezone.now()) | {"number": 1, "issued_by": "Ines Marlow"}


def printed(made, folder, dots_per_inch):
    """The pages as a printer would lay them down, in grey."""
    (folder / "paper.pdf").write_bytes(made)
    subprocess.run(
        ["pdftoppm", "-r", str(dots_per_inch), "-gray", "paper.pdf", "page"], cwd=folder, check=True, timeout=60
    )
    for page in sorted(folder.glob("page*.pgm")):
        with page.open("rb") as file:
            assert file.readline() == b"P5\n"
            width, height = map(int, file.readline().split())
            file.readline()
            yield np.frombuffer(file.read(), np.uint8).reshape(height, width)


@pytest.mark.parametrize("kind", [DocumentKind.RESTORE_SHEET, DocumentKind.LABEL])
def test_a_camera_reads_the_whole_map_off_the_paper(facts, version, tmp_path, kind):
    """Read by zxing-cpp, which knows nothing of us, off the page as a printer of 200 dots an inch lays it down."""
    pages = printed(set_document(kind, facts), tmp_path, 200)
    read = [code.text for page in pages for code in zxingcpp.read_barcodes(page)]
    assert len(read) == 1
    found = map_from_text(read[0])
    assert found.ignition_map.content_hash() == version.ignition_map().content_hash()
    assert found.labels["JOB"] == version.job.code
    assert found.labels["VERSION"] == str(version.number)


def test_the_restore_sheet_has_every_entry_in_keying_order_in_the_units_words_and_in_plain_ones(facts, version):
    pages = pypdf.PdfReader(BytesIO(set_document(DocumentKind.RESTORE_SHEET, facts))).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    keyed = text[text.index("1. Key in") : text.index("2. Store")]
    place = 0
    for line, told in zip(lines_of(version), facts["map"]["lines"], strict=True):
        entry = f"{line.position} {line.words} {told['meaning']} {line.value_text}"
        assert entry in keyed[place:], f"{entry!r} is not in its place"
        place = keyed.index(entry, place)
    assert "Rev limit 6000 rpm" in keyed
    for caution in facts["cautions"]:
        assert caution["title"] in text


def test_the_strobe_is_read_against_what_it_showed_when_the_car_left(facts):
    facts["strobe"]["final"]["readings"][0] |= {"rpm": 1234, "expected_deg": 17.5, "measured_deg": 17.0}
    pages = pypdf.PdfReader(BytesIO(set_document(DocumentKind.RESTORE_SHEET, facts))).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "1234 pipe off 17.5° BTDC 17.0° BTDC" in text


def test_what_was_fitted_is_on_it_as_the_fitting_sheet_says(facts):
    row = {"key": "fuse", "text": "Fuse fitted", "value": "5 A", "unit": "", "note": "behind the heater"}
    facts["sheets"] = [{"sections": [{"rows": [row, {**row, "key": "starts", "text": "Starts and runs"}]}]}]
    text = pypdf.PdfReader(BytesIO(set_document(DocumentKind.RESTORE_SHEET, facts))).pages[0].extract_text()
    assert "behind the heater" in text
    assert "Starts and runs" not in text


def test_the_restore_sheet_waits_for_the_second_check(job, actor, version):
    with pytest.raises(HandoverRuleError, match="second check"):
        issue_document(job=job, kind=DocumentKind.RESTORE_SHEET, idempotency_key=uuid4(), actor=actor)
