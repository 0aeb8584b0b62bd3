"""Setting a bill: from its plain data to the bytes of a PDF."""

from datetime import datetime

from django.template.loader import render_to_string

from garage.papers.setting import set_paper
from garage.record.plain import Plain
from jobs.billing.einvoice import FILE_NAME, invoice_xml
from jobs.billing.hybrid import HYBRID_INVOICE
from timing.sheets.letters import isolated
from timing.sheets.pdf import Embedded

STYLESHEETS = ("sheet.css", "bill.css")


def set_bill(facts: Plain) -> bytes:
    """The PDF of a bill or credit note from its `bill_data`; the same facts give the same bytes.

    Where nothing is missing for it, the PDF is a hybrid: PDF/A-3 with the electronic invoice in it.
    """
    html = render_to_string("jobs/billing/bill_paper.html", {"facts": isolated(facts)})
    created = datetime.fromisoformat(facts["made_at"])
    if facts["missing_for_einvoice"]:
        return set_paper(html, css=STYLESHEETS, created=created)
    invoice = Embedded(
        name=FILE_NAME,
        content=invoice_xml(facts),
        description="The bill as an electronic invoice",
        relationship="Alternative",
        announced_by=(HYBRID_INVOICE,),
    )
    return set_paper(html, css=STYLESHEETS, created=created, embedded=invoice)
