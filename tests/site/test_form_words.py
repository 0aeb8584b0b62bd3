"""What forms say when they refuse: the house's words, and never the machinery's."""

import pkgutil
import uuid
from importlib import import_module

import pytest
from django import forms
from django.urls import get_resolver, reverse
from django.utils.functional import Promise

import garage
import jobs
from garage.quantities.fields import MeasureField
from garage.quantities.typed import ExactField, FigureField
from tests.factories import CustomerFactory, JobFactory, VehicleFactory
from tests.jobs_factories import FittedUnitFactory


def forms_of_the_house() -> list[type[forms.BaseForm]]:
    assert get_resolver().url_patterns  # every view, and with it every form, is imported
    for package in (garage, jobs):
        for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            if module.name.endswith("forms"):
                import_module(module.name)
    found, waiting = [], [forms.BaseForm]
    while waiting:
        kind = waiting.pop()
        waiting += kind.__subclasses__()
        if kind.__module__.startswith(("garage.", "jobs.")):
            found.append(kind)
    return found


def test_every_figure_is_read_in_the_one_way():
    read_otherwise = {
        f"{form.__name__}.{name}"
        for form in forms_of_the_house()
        for name, field in getattr(form, "base_fields", {}).items()
        if isinstance(field, forms.FloatField | forms.DecimalField)
        and not isinstance(field, FigureField | ExactField | MeasureField)
    }
    assert read_otherwise == set()


def words_of(field: forms.Field):
    yield from field.error_messages.items()
    for validator in field.validators:
        message = getattr(validator, "message", "")
        yield type(validator).__name__, message
        yield from getattr(validator, "messages", {}).items()


def test_there_are_forms_to_look_at():
    assert len(forms_of_the_house()) > 30


def test_no_form_refuses_in_the_words_of_the_machinery():
    # Django's own words are translated late, the house's are plain text.
    foreign = {
        f"{form.__name__}.{name}: {key}: {words}"
        for form in forms_of_the_house()
        for name, field in getattr(form, "base_fields", {}).items()
        for key, words in words_of(field)
        if isinstance(words, Promise)
    }
    assert foreign == set()


@pytest.mark.parametrize(
    ("address", "typed", "words"),
    [
        ("customers:new", {"name": ""}, "Fill this in."),
        ("customers:new", {"name": "Mira Holt", "email": "mira"}, "Enter an email address"),
        ("customers:new", {"name": "M" * 121}, "At most 120 characters; this has 121."),
        ("customers:new", {"name": "Mira\x00Holt"}, "a character that cannot be saved"),
        ("customers:new", {"name": "Mira Holt", "idempotency_key": ""}, "arrived incomplete"),
        ("vehicles:new", {"customer": ""}, "Choose from the list."),
        ("vehicles:new", {"customer": "999999"}, "This is not available"),
        ("vehicles:new", {"earth_polarity": "sideways"}, "Choose from the list."),
        ("vehicles:new", {"year": "sixty-four"}, "Enter a whole number"),
        ("vehicles:new", {"engine-bore_mm": "three inches"}, "‘three inches’ is not a figure."),
        ("board:book", {"booked_for": "next week"}, "Enter day, month and year"),
    ],
)
def test_a_refusal_says_what_to_write(browser_of, front_desk, address, typed, words):
    CustomerFactory(), VehicleFactory()
    answer = browser_of(front_desk).post(reverse(address), {"idempotency_key": uuid.uuid4(), **typed})
    assert answer.status_code == 422
    assert words in answer.content.decode()


def test_a_list_with_nothing_chosen_calls_for_a_choice_or_says_it_is_not_known(browser_of, owner):
    CustomerFactory(), FittedUnitFactory()
    car = browser_of(owner).get(reverse("vehicles:new")).content.decode()
    unit = browser_of(owner).get(reverse("units:new-fitted")).content.decode()
    assert "---------" not in car + unit
    assert '<option value="" selected>choose</option>' in unit
    assert '<option value="" selected>not known</option>' in car


def test_money_finer_than_a_penny_is_refused_in_the_words_of_a_bill(browser_of, front_desk):
    form = {"id": uuid.uuid4(), "kind": "part", "description": "Rotor arm", "quantity": "1", "unit_price": "0.335"}
    answer = browser_of(front_desk).post(reverse("costs:page", args=[JobFactory().code]), form)
    assert "At most 2 places after the point." in answer.content.decode()
