"""Setting a paper: from a laid-out page and the names of its stylesheets to the bytes of a PDF."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from django.conf import settings

from garage.papers.press import Order, Press
from timing.sheets.pdf import Embedded

# Of this process; a worker of the server is a process of its own, and so has its own.
_press = Press()


def set_paper(
    html: str,
    *,
    css: Sequence[str],
    created: datetime,
    one_page_by: Sequence[str] = ("",),
    embedded: Embedded | None = None,
) -> bytes:
    """The PDF of a page; the same page gives the same bytes. `css` names files of `static/css`, in their order.

    Raises
    ------
    timing.sheets.pdf.DocumentLibraryMissing
        If this machine cannot set documents.
    garage.papers.press.PaperNotSetError
        If it took too long, or its worker ended.
    """
    order = Order(html, stylesheets(css), created, tuple(one_page_by), embedded)
    return _press.set(order) if settings.PAPERS_SET_APART else order.set()


def stylesheets(names: Sequence[str]) -> str:
    """The text of stylesheets, one after the other."""
    folder = Path(settings.BASE_DIR) / "static" / "css"
    return "\n".join((folder / name).read_text() for name in names)
