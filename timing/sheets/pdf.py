"""HTML to PDF: tagged, reproducible to the byte, one at a time, with plain words when a library is missing."""

from __future__ import annotations

import re
import threading
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import Any

from timing.errors import TimingError
from timing.sheets.letters import said_to_be_missing
from timing.sheets.tags import mend_tags
from timing.sheets.xmp import PDF_UA_1, XmpSchema, xmp_of

# Rendering in several threads at once makes each of them slower than one after the other.
_ONE_AT_A_TIME = threading.Lock()

# Blanks at the edge of a block mean nothing, but where a line is full but for them, WeasyPrint 70 breaks it after its
# first word; and behind a mark that begins the block they are a gap.
_BLOCK = r"(?:td|th|tr|p|div|li|dd|dt|h[1-6]|caption|figcaption)\b"
_BLANKS_AT_A_BLOCK = re.compile(rf"\s+(?=</?{_BLOCK})|(?P<opens><{_BLOCK}[^>]*>)\s+")

# PDF/A forbids a reader to smooth pictures by guessing between their dots (ISO 19005-3, 6.2.8.2; from memory).
_FOR_PDF_A = "html { image-rendering: crisp-edges }"

WHAT_TO_INSTALL = (
    "Debian and Ubuntu: apt install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu-core "
    "fonts-wqy-microhei; "
    "Fedora: dnf install pango dejavu-sans-fonts wqy-microhei-fonts; "
    "macOS with Homebrew: brew install pango; "
    "Windows with MSYS2: pacman -S mingw-w64-x86_64-pango, and add its bin folder to PATH"
)


class DocumentLibraryMissing(TimingError):  # noqa: N818 - says what is missing, as a sentence
    """The library that sets documents cannot be loaded, or finds no font. The message says what to install."""


@dataclass(frozen=True, slots=True)
class Embedded:
    """A file that goes along in a document.

    Attributes
    ----------
    name, description : str
        What the file is called, and what it is.
    content : bytes
        The file.
    relationship : str
        How it stands to the document (ISO 32000-2, 7.11.3): Alternative, Data, Source, Supplement.
    announced_by : tuple of XmpSchema
        What the document's metadata say of the file, so that programs find it.
    """

    name: str
    content: bytes
    description: str
    relationship: str
    announced_by: tuple[XmpSchema, ...] = ()


def pdf_from_html(
    html: str,
    *,
    stylesheet: str,
    created: datetime,
    one_page_by: Sequence[str] = ("",),
    embedded: Embedded | None = None,
) -> bytes:
    """The PDF of a page, tagged for PDF/UA-1 (ISO 14289-1); with a file `embedded`, for PDF/A-3a (ISO 19005-3) too.

    Both want the same tags, title and language; PDF/A adds a colour profile, an identifier and how the file belongs to
    the document. That the result conforms is for a checker to say: here it is made for both, and says so.

    Parameters
    ----------
    html : str
        A complete document with a `<title>` and a language. It may not point outside itself.
    stylesheet : str
        CSS, with the page's size and margins.
    created : datetime
        Goes into the document, to the second; with it, the same page gives the same bytes.
    one_page_by : sequence of str
        CSS laid over `stylesheet`, tried in turn until everything fits on one page; the last one is taken as it comes.
    embedded : Embedded, optional
        A file that goes along.

    Returns
    -------
    bytes
        The document. A letter that no font has is shown as a mark, and the last line says which it was.

    Raises
    ------
    DocumentLibraryMissing
        If Pango or a font is not installed, with the packages to install.
    """
    try:
        from weasyprint import HTML
        from weasyprint.urls import URLFetcher
    except OSError as missing:
        raise DocumentLibraryMissing(
            f"Documents cannot be made: the text library Pango is not installed. {WHAT_TO_INSTALL}."
        ) from missing
    created = created.replace(microsecond=0)  # the two places in which it stands have to say the same
    stamped = html.replace("</title>", f'</title><meta name="dcterms.created" content="{created.isoformat()}">', 1)
    tight = _BLANKS_AT_A_BLOCK.sub(lambda found: found["opens"] or "", stamped)
    # A document never fetches anything: not from the network, and not from this machine's files.
    sealed = URLFetcher(allowed_protocols=["data"])
    laid_over = stylesheet if embedded is None else f"{_FOR_PDF_A}\n{stylesheet}"

    def written(text: str) -> tuple[Any, bytes]:
        page = HTML(string=text, url_fetcher=sealed)
        for smaller in one_page_by:
            sheets = [_parsed(one) for one in (laid_over, smaller) if one]  # each is held against every element
            document = page.render(stylesheets=sheets, font_config=_fonts())
            if len(document.pages) == 1:
                break
        if embedded is not None:
            _embed(document, embedded, created)
        variant = "pdf/ua-1" if embedded is None else "pdf/a-3a"
        return document, bytes(document.write_pdf(pdf_variant=variant, finisher=_mended) or b"")

    with _ONE_AT_A_TIME:
        document, made = written(tight)
        if letters := _letters_without_a_font(document):
            document, made = written(said_to_be_missing(tight, letters))
    if not made or not document.fonts:
        raise DocumentLibraryMissing(f"Documents cannot be made: no font was found. {WHAT_TO_INSTALL}.")
    return made


@lru_cache(maxsize=1)
def _fonts() -> Any:
    """The fonts of this machine as Pango found them: looked for once, for no paper brings one of its own."""
    from weasyprint.text.fonts import FontConfiguration

    return FontConfiguration()


@lru_cache(maxsize=32)
def _parsed(stylesheet: str) -> Any:
    """A stylesheet taken to pieces: the same few are used for every paper."""
    from weasyprint import CSS

    return CSS(string=stylesheet)


def _embed(document: Any, embedded: Embedded, created: datetime) -> None:
    """Put a file and what the metadata says of it into a laid-out document."""
    from weasyprint import Attachment

    document.metadata.attachments.append(
        Attachment(
            string=embedded.content,
            name=embedded.name,
            description=embedded.description,
            created=created,
            modified=created,
            relationship=embedded.relationship,
        )
    )
    of_its_own = document.metadata.generate_rdf_metadata

    def with_more(*args: Any) -> bytes:
        rdf: bytes = of_its_own(*args)
        more = xmp_of((PDF_UA_1, *embedded.announced_by))
        return rdf.replace(b"</rdf:RDF>", more.encode() + b"</rdf:RDF>")

    document.metadata.generate_rdf_metadata = with_more


def _letters_without_a_font(document: Any) -> list[str]:
    """What a written document shows as boxes; PDF/A forbids them (ISO 19005-3, 6.2.11.8; from memory)."""
    return [chr(codepoint) for font in document.fonts.values() for codepoint in font.missing]


def _mended(_document: Any, pdf: Any) -> None:
    """What WeasyPrint 70 leaves amiss: tags, and a file named twice among those that go along."""
    mend_tags(pdf)
    if "AF" in pdf.catalog:
        pdf.catalog["AF"][:] = dict.fromkeys(pdf.catalog["AF"])
    _pack_once(pdf)


def _pack_once(pdf: Any) -> None:
    """Pack what pydyf 0.13 packs whenever it is asked for it: once to write it, and again to reckon the identifier."""
    from pydyf import Stream

    for one in pdf.objects:
        if isinstance(one, Stream) and one.compress:
            # Streams in streams are written as they are: the content of this one is what it would write unpacked.
            one.compress = False
            one.stream = [zlib.compress(_content(one))]
            one.extra["Filter"] = "/FlateDecode"


def _content(stream: Any) -> bytes:
    """What stands in a stream that is not packed yet."""
    return bytes(stream.data.partition(b"stream\n")[2].removesuffix(b"\nendstream"))
