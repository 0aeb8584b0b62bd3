"""What a hybrid invoice says about itself in its metadata, so that programs find the XML in it.

Four properties and their description, as the published standard for hybrid invoices of the levels of EN 16931 has them
(from memory, and read in the metadata that the library writes).
"""

from django.template.loader import render_to_string

from jobs.billing.einvoice import FILE_NAME

URN = "urn:factur-x:pdfa:CrossIndustryDocument:invoice:1p0#"
PROPERTIES = [
    {"name": "DocumentType", "value": "INVOICE", "meaning": "type of the document"},
    {"name": "DocumentFileName", "value": FILE_NAME, "meaning": "name of the embedded XML file"},
    {"name": "Version", "value": "1.0", "meaning": "version of the standard of the embedded XML file"},
    {"name": "ConformanceLevel", "value": "EN 16931", "meaning": "level of the embedded XML file"},
]


def hybrid_invoice_xmp() -> str:
    """The descriptions to be put into the RDF of the metadata."""
    return render_to_string("jobs/billing/hybrid_invoice.xml", {"urn": URN, "properties": PROPERTIES})
