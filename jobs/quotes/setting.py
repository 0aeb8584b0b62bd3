"""Setting a quote: from its plain data to the bytes of a PDF."""

from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.template.loader import render_to_string

from jobs.quotes.quote_data import Plain
from timing.sheets.letters import isolated
from timing.sheets.pdf import pdf_from_html

# A quote is laid out as the bill that follows it.
STYLESHEETS = ("sheet.css", "bill.css")


def set_quote(facts: Plain) -> bytes:
    """The PDF of a quote or supplement from its `quote_data`; the same facts give the same bytes."""
    folder = Path(settings.BASE_DIR) / "static" / "css"
    css = "\n".join((folder / name).read_text() for name in STYLESHEETS)
    html = render_to_string("jobs/quotes/quote_paper.html", {"facts": isolated(facts)})
    return pdf_from_html(html, stylesheet=css, created=datetime.fromisoformat(facts["made_at"]))
