"""What a hybrid invoice says about itself in its metadata, so that programs find the XML in it.

Four properties and their description, as the published standard for hybrid invoices of the levels of EN 16931 has them
(from memory, and read in the metadata that the library writes).
"""

from jobs.billing.einvoice import FILE_NAME
from timing.sheets.xmp import XmpProperty, XmpSchema

HYBRID_INVOICE = XmpSchema(
    "Hybrid invoice",
    "urn:factur-x:pdfa:CrossIndustryDocument:invoice:1p0#",
    "fx",
    (
        XmpProperty("DocumentType", "INVOICE", "type of the document"),
        XmpProperty("DocumentFileName", FILE_NAME, "name of the embedded XML file"),
        XmpProperty("Version", "1.0", "version of the standard of the embedded XML file"),
        XmpProperty("ConformanceLevel", "EN 16931", "level of the embedded XML file"),
    ),
)
