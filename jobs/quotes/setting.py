"""Setting a quote: from its plain data to the bytes of a PDF."""

from datetime import datetime

from django.template.loader import render_to_string

from garage.papers.setting import set_paper
from garage.record.plain import Plain
from jobs.documents.pictures import small_pictures
from timing.sheets.letters import isolated

# A quote is laid out as the bill that follows it.
STYLESHEETS = ("sheet.css", "bill.css")


def set_quote(facts: Plain) -> bytes:
    """The PDF of a quote or supplement from its `quote_data`; the same facts give the same bytes."""
    pictures = small_pictures(facts.get("photographs", []))
    html = render_to_string("jobs/quotes/quote_paper.html", {"facts": isolated(facts), "pictures": isolated(pictures)})
    return set_paper(html, css=STYLESHEETS, created=datetime.fromisoformat(facts["made_at"]))
