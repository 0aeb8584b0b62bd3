"""HTML to PDF: tagged, reproducible to the byte, one at a time, with plain words when a library is missing."""

from __future__ import annotations

import re
import threading
from collections.abc import Sequence
from datetime import datetime

from timing.errors import TimingError

# Rendering in several threads at once makes each of them slower than one after the other.
_ONE_AT_A_TIME = threading.Lock()

# Blanks at the edge of a block mean nothing, but where a line is full but for them, WeasyPrint 70 breaks it after its
# first word.
_BLANKS_AT_A_BLOCK = re.compile(r"\s+(?=</?(?:td|th|tr|p|div|li|dd|dt|h[1-6]|caption|figcaption)\b)")

WHAT_TO_INSTALL = (
    "Debian and Ubuntu: apt install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu-core; "
    "Fedora: dnf install pango dejavu-sans-fonts; "
    "macOS with Homebrew: brew install pango; "
    "Windows with MSYS2: pacman -S mingw-w64-x86_64-pango, and add its bin folder to PATH"
)


class DocumentLibraryMissing(TimingError):  # noqa: N818 - says what is missing, as a sentence
    """The library that sets documents cannot be loaded, or finds no font. The message says what to install."""


def pdf_from_html(html: str, *, stylesheet: str, created: datetime, one_page_by: Sequence[str] = ("",)) -> bytes:
    """The PDF of a page, tagged for PDF/UA-1.

    Parameters
    ----------
    html : str
        A complete document with a `<title>` and a language. It may not point outside itself.
    stylesheet : str
        CSS, with the page's size and margins.
    created : datetime
        Goes into the document; with it, the same page gives the same bytes.
    one_page_by : sequence of str
        CSS laid over `stylesheet`, tried in turn until everything fits on one page; the last one is taken as it comes.

    Returns
    -------
    bytes
        The document.

    Raises
    ------
    DocumentLibraryMissing
        If Pango or a font is not installed, with the packages to install.
    """
    try:
        from weasyprint import CSS, HTML
        from weasyprint.urls import URLFetcher
    except OSError as missing:
        raise DocumentLibraryMissing(
            f"Documents cannot be made: the text library Pango is not installed. {WHAT_TO_INSTALL}."
        ) from missing
    stamped = html.replace("</title>", f'</title><meta name="dcterms.created" content="{created.isoformat()}">', 1)
    tight = _BLANKS_AT_A_BLOCK.sub("", stamped)
    # A document never fetches anything: not from the network, and not from this machine's files.
    sealed = URLFetcher(allowed_protocols=["data"])
    with _ONE_AT_A_TIME:
        page = HTML(string=tight, url_fetcher=sealed)
        for smaller in one_page_by:
            document = page.render(stylesheets=[CSS(string=stylesheet), CSS(string=smaller)])
            if len(document.pages) == 1:
                break
        made = document.write_pdf(pdf_variant="pdf/ua-1")
    if made is None or not document.fonts:
        raise DocumentLibraryMissing(f"Documents cannot be made: no font was found. {WHAT_TO_INSTALL}.")
    return bytes(made)
