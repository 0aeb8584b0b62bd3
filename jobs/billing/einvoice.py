"""A bill as an electronic invoice by EN 16931-1: what is missing for one, and its XML in the syntax CII (D16B).

The terms are called by their numbers in the standard (BT for a term, BG for a group). Every amount is a text of the
bill's own plain data (`bill_data`), so that paper and XML cannot say different things. Codes: documents by UNTDID 1001,
units by UN/ECE Recommendation 20, categories of VAT by UNTDID 5305 (from memory; checked in tests by the artefacts
that the library carries).
"""

import re
from collections import Counter

from iso4217 import Currency

from garage.record.plain import Plain
from jobs.billing.models import BillKind
from jobs.vat.models import VatCategory

FILE_NAME = "factur-x.xml"  # the name by which the standard for hybrid invoices has programs find it
LEVEL = "en16931"
DOCUMENT_CODES = {BillKind.BILL: "380", BillKind.CREDIT_NOTE: "381"}
UNIT_CODES = {"hours": "HUR", "part": "C62"}
# What XML 1.0 cannot carry.
_NOT_IN_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def what_is_missing(facts: Plain) -> list[str]:
    """What a bill of these `facts` lacks to be an electronic invoice, a sentence each; empty where it is one."""
    workshop, missing = facts["workshop"], []
    if not workshop["country"]:
        missing.append("The workshop’s country is not set.")
    if not workshop["address"].strip():
        missing.append("The workshop’s address is not set.")
    if not re.match("[A-Z]{2}", _number(workshop["vat_number"])):
        missing.append("The workshop’s VAT number does not begin with the letters of its country.")
    if not facts["buyer"]["country"]:
        missing.append("The customer’s country is not set.")
    if not _is_currency(facts["currency"]):
        missing.append(f"{facts['currency']} is no known currency.")
    missing += [f"VAT rate {rate['name']} does not say its kind." for rate in facts["rates"] if not rate["category"]]
    kinds = Counter((rate["category"], rate["percent"]) for rate in facts["rates"])
    missing += [f"Two VAT rates of {percent} % are on it. Use one." for (_, percent), many in kinds.items() if many > 1]
    return missing


def _is_currency(code: str) -> bool:
    try:
        Currency(code)
    except ValueError:
        return False
    return True


def invoice_terms(facts: Plain) -> Plain:
    """The terms of the standard from the `facts` of a bill or credit note."""
    terms: Plain = {
        "BT-1": facts["number"],
        "BT-2": facts["issued_on"],
        "BT-3": DOCUMENT_CODES[facts["kind"]],
        "BT-5": facts["currency"],
        "BT-72": facts["supplied_on"],
        "BG-1": [{"BT-22": _text(said)} for said in (facts["remarks"], facts["workshop"]["foot"]) if _text(said)],
        "BG-4": _seller(facts["workshop"]),
        "BG-7": {"name": _text(facts["buyer"]["name"]), **_address(facts["buyer"])},
        "BT-106": facts["net"],
        "BT-109": facts["net"],
        "BT-110": facts["vat"],
        "BT-112": facts["gross"],
        "BT-115": facts["gross"],
        "BG-23": [_of_rate(rate) for rate in facts["rates"]],
        "BG-25": [_of_line(number, line) for number, line in enumerate(facts["lines"], 1)],
    }
    if facts["due_on"]:
        terms["BT-9"] = facts["due_on"]
    if facts["credits"]:
        terms["BT-20"] = "Credit note: nothing is to be paid."
        terms["BG-3"] = [{"BT-25": facts["credits"]["number"], "BT-26": facts["credits"]["issued_on"]}]
    return terms


def invoice_xml(facts: Plain) -> bytes:
    """The XML of a bill or credit note, valid by the schema of the standard.

    Raises
    ------
    Exception
        If it is not valid: what was missing should have been said by `what_is_missing`.
    """
    # Loaded when a bill is set: it brings libraries that no other page needs.
    from facturx import generate_cii_xml

    # Its check by rules asks a server elsewhere, and nothing of a workshop goes out; the tests make it here instead.
    made: bytes = generate_cii_xml(invoice_terms(facts), level=LEVEL, check_xsd=True, check_schematron=None)
    return made


def _seller(workshop: Plain) -> Plain:
    return {
        "name": _text(workshop["name"]),
        "vat_identifier": _number(workshop["vat_number"]),
        **_address(workshop),
    }


def _address(party: Plain) -> Plain:
    lines = [line for line in (_text(line) for line in party["address"].splitlines()) if line]
    found = {"country_code": party["country"]}
    parts = [*lines[:2], ", ".join(lines[2:])]
    return found | {f"addr_l{place}": line for place, line in enumerate(parts, 1) if line}


def _of_rate(rate: Plain) -> Plain:
    terms = {
        "BT-116": rate["net"],
        "BT-117": rate["vat"],
        "BT-118": rate["category"],
        "BT-119": rate["percent"],
    }
    if rate["category"] == VatCategory.EXEMPT:
        terms["BT-120"] = _text(rate["wording"])
    return terms


def _of_line(number: int, line: Plain) -> Plain:
    return {
        "BT-126": str(number),
        "BT-153": _text(line["description"]),
        "BT-129": line["quantity"],
        "BT-130": UNIT_CODES[line["kind"]],
        "BT-131": line["amount"],
        "BT-146": line["unit_price"],
        "BT-151": line["category"],
        "BT-152": line["percent"],
    }


def _number(vat_number: str) -> str:
    return re.sub(r"[^A-Za-z0-9]", "", vat_number).upper()


def _text(said: str) -> str:
    return _NOT_IN_XML.sub("", said).strip()
