"""What a document says of itself beyond its title: properties of XMP, each with the description PDF/A asks for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal
from xml.sax.saxutils import escape, quoteattr

_DESCRIBED_BY: Final = (
    ("pdfaExtension", "http://www.aiim.org/pdfa/ns/extension/"),
    ("pdfaSchema", "http://www.aiim.org/pdfa/ns/schema#"),
    ("pdfaProperty", "http://www.aiim.org/pdfa/ns/property#"),
)


@dataclass(frozen=True, slots=True)
class XmpProperty:
    """One property and its value.

    Attributes
    ----------
    name, value, meaning : str
        What it is called in its namespace, what it says, and what that means, for people.
    value_type : 'Text' or 'Integer'
        What the value is.
    category : 'external' or 'internal'
        Whether people set it, or the program that writes the file.
    """

    name: str
    value: str
    meaning: str
    value_type: Literal["Text", "Integer"] = "Text"
    category: Literal["external", "internal"] = "external"


@dataclass(frozen=True, slots=True)
class XmpSchema:
    """Properties of one namespace, which PDF/A does not know by itself.

    Attributes
    ----------
    title, namespace, prefix : str
        What it is, the address that names it, and the short name before each property.
    properties : tuple of XmpProperty
        What is said.
    """

    title: str
    namespace: str
    prefix: str
    properties: tuple[XmpProperty, ...]


# ISO 14289-1:2014, section 5: which part of PDF/UA a file is made by.
PDF_UA_1: Final = XmpSchema(
    "PDF/UA identification",
    "http://www.aiim.org/pdfua/ns/id/",
    "pdfuaid",
    (XmpProperty("part", "1", "Part of ISO 14289 by which this file is made", "Integer", "internal"),),
)


def xmp_of(schemas: Iterable[XmpSchema]) -> str:
    """The elements `rdf:Description` that say the properties of `schemas`, and describe them.

    ISO 19005-3:2012, 6.6.2.3, wants every property described that is not among those of XMP 2004 (from memory). A
    property may stand in a packet once, so all descriptions are in one bag.

    Parameters
    ----------
    schemas : iterable of XmpSchema
        Each with its own namespace and prefix.

    Returns
    -------
    str
        XML, to stand inside `rdf:RDF`.
    """
    schemas = tuple(schemas)
    said = "".join(map(_values, schemas))
    names = " ".join(f"xmlns:{prefix}={quoteattr(address)}" for prefix, address in _DESCRIBED_BY)
    described = "".join(map(_description, schemas))
    return (
        f'{said}<rdf:Description rdf:about="" {names}><pdfaExtension:schemas><rdf:Bag>{described}'
        "</rdf:Bag></pdfaExtension:schemas></rdf:Description>"
    )


def _values(schema: XmpSchema) -> str:
    said = "".join(
        f"<{schema.prefix}:{one.name}>{escape(one.value)}</{schema.prefix}:{one.name}>" for one in schema.properties
    )
    return f'<rdf:Description rdf:about="" xmlns:{schema.prefix}={quoteattr(schema.namespace)}>{said}</rdf:Description>'


def _description(schema: XmpSchema) -> str:
    return (
        '<rdf:li rdf:parseType="Resource">'
        f"<pdfaSchema:schema>{escape(schema.title)}</pdfaSchema:schema>"
        f"<pdfaSchema:namespaceURI>{escape(schema.namespace)}</pdfaSchema:namespaceURI>"
        f"<pdfaSchema:prefix>{schema.prefix}</pdfaSchema:prefix>"
        f"<pdfaSchema:property><rdf:Seq>{''.join(map(_property, schema.properties))}</rdf:Seq></pdfaSchema:property>"
        "</rdf:li>"
    )


def _property(one: XmpProperty) -> str:
    return (
        '<rdf:li rdf:parseType="Resource">'
        f"<pdfaProperty:name>{one.name}</pdfaProperty:name>"
        f"<pdfaProperty:valueType>{one.value_type}</pdfaProperty:valueType>"
        f"<pdfaProperty:category>{one.category}</pdfaProperty:category>"
        f"<pdfaProperty:description>{escape(one.meaning)}</pdfaProperty:description>"
        "</rdf:li>"
    )
