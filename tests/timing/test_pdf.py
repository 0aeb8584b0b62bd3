"""Setting a document."""

import builtins
from datetime import UTC, datetime

import pytest

from timing.sheets.pdf import DocumentLibraryMissing, pdf_from_html

PAGE = '<html lang="en"><head><title>Sheet</title></head><body><h1>8° BTDC</h1>{}</body></html>'
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


def set_page(extra="", created=NOON):
    return pdf_from_html(PAGE.format(extra), stylesheet="@page { size: A4 }", created=created)


def test_the_same_page_gives_the_same_bytes():
    assert set_page() == set_page()


def test_another_moment_gives_other_bytes():
    assert set_page() != set_page(created=datetime(2026, 3, 2, 13, tzinfo=UTC))


@pytest.mark.parametrize("address", ["file:///etc/hostname", "http://127.0.0.1:9/x.png"])
def test_a_document_fetches_nothing_from_outside_itself(address):
    with_picture = set_page(f'<img src="{address}" alt="">')
    assert b"/Image" not in with_picture


def test_a_missing_text_library_is_said_with_the_packages_to_install(monkeypatch):
    real = builtins.__import__

    def without_pango(name, *args, **kwargs):
        if name.startswith("weasyprint"):
            raise OSError("cannot load library 'libpango-1.0-0'")
        return real(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", without_pango)
    with pytest.raises(DocumentLibraryMissing) as refusal:
        set_page()
    for words in ("apt install libpango", "dnf install pango", "brew install pango", "Windows"):
        assert words in str(refusal.value)
