"""What a hybrid invoice says about itself in its metadata, so that programs find the XML in it.

The schema `fx` with its four properties, and their description as PDF/A asks for it (ISO 19005-3, 6.6.2.3), as the
published standard for hybrid invoices of the levels of EN 16931 has them (from memory, and read in the library's XMP).
"""

from xml.sax.saxutils import escape

from jobs.billing.einvoice import FILE_NAME

URN = "urn:factur-x:pdfa:CrossIndustryDocument:invoice:1p0#"
SAID = {
    "DocumentType": ("INVOICE", "type of the document"),
    "DocumentFileName": (FILE_NAME, "name of the embedded XML file"),
    "Version": ("1.0", "version of the standard of the embedded XML file"),
    "ConformanceLevel": ("EN 16931", "level of the embedded XML file"),
}


def hybrid_invoice_xmp() -> str:
    """The descriptions to be put into the RDF of the metadata."""
    said = "".join(f"<fx:{name}>{escape(value)}</fx:{name}>" for name, (value, _) in SAID.items())
    described = "".join(
        f'<rdf:li rdf:parseType="Resource"><pdfaProperty:name>{name}</pdfaProperty:name>'
        "<pdfaProperty:valueType>Text</pdfaProperty:valueType><pdfaProperty:category>external</pdfaProperty:category>"
        f"<pdfaProperty:description>{meaning}</pdfaProperty:description></rdf:li>"
        for name, (_, meaning) in SAID.items()
    )
    return (
        f'<rdf:Description rdf:about="" xmlns:fx="{URN}">{said}</rdf:Description>'
        '<rdf:Description rdf:about="" xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"'
        ' xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#"'
        ' xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#"><pdfaExtension:schemas><rdf:Bag>'
        '<rdf:li rdf:parseType="Resource"><pdfaSchema:schema>Hybrid invoice</pdfaSchema:schema>'
        f"<pdfaSchema:namespaceURI>{URN}</pdfaSchema:namespaceURI><pdfaSchema:prefix>fx</pdfaSchema:prefix>"
        f"<pdfaSchema:property><rdf:Seq>{described}</rdf:Seq></pdfaSchema:property></rdf:li></rdf:Bag>"
        "</pdfaExtension:schemas></rdf:Description>"
    )
