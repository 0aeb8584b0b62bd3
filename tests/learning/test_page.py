"""The page: who sees what, that each figure leads to its cars, and that small numbers are shown as such."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from garage.models import Engine
from jobs.learning.words import how_sure, share_said
from tests.factories import JobFactory, VehicleFactory
from tests.likeness.cars_at_home import home
from tests.pages import assert_not_found, text_of
from timing.spread import share_of

pytestmark = pytest.mark.django_db
PAGE = "/learned/"


def of_family(name: str):
    return JobFactory(vehicle=VehicleFactory(engine__family=name))


@pytest.mark.parametrize("role", ["owner", "mechanic", "front_desk"])
def test_all_staff_read_it(role, request, browser_of):
    assert browser_of(request.getfixturevalue(role)).get(PAGE).status_code == 200


def test_hours_are_for_the_owner_and_the_office(owner, front_desk, mechanic, browser_of):
    seen = ["Hours by stage" in text_of(browser_of(person).get(PAGE)) for person in (owner, front_desk, mechanic)]
    assert seen == [True, True, False]


def test_the_cars_behind_the_hours_are_not_shown_to_a_mechanic_either(made, mechanic, owner, browser_of):
    address = reverse("learning:cars", args=["hours-fitting"])
    assert browser_of(owner).get(address).status_code == 200
    assert_not_found(browser_of(mechanic).get(address))


def test_without_an_engine_no_maps_are_compared(browser_of, mechanic):
    assert "Maps are compared among like engines only." in text_of(browser_of(mechanic).get(PAGE))


def test_two_cars_are_not_summed_up(actor, browser_of, mechanic):
    for _ in range(2):
        home(actor, job=of_family("Wren"))
    words = text_of(browser_of(mechanic).get(PAGE, {"family": "Wren"}))
    assert "Only 2 cars. Nothing is summed up below three." in words
    assert "Wide-open throttle" not in words


def test_three_cars_are_shown_as_three(actor, browser_of, mechanic):
    for _ in range(3):
        home(actor, job=of_family("Wren"))
    words = text_of(browser_of(mechanic).get(PAGE, {"family": "Wren"}))
    assert "3 cars: this is how they differ. Too few to speak for others." in words
    assert "too few" in words  # for a likely median


def test_a_refused_figure_is_said_beside_its_box(browser_of, mechanic):
    words = text_of(browser_of(mechanic).get(PAGE, {"compression": "88"}))
    assert "between 4 and 20" in words


def test_every_figure_leads_to_as_many_cars_as_it_says(made, browser_of, owner):
    client = browser_of(owner)
    page = client.get(PAGE, {"family": "Wren twin"}).content.decode()
    links = re.findall(r'href="(/learned/cars/[^"]+)">\s*(\d+)\s*</a>', page)
    assert len(links) > 20
    for address, count in links[:: len(links) // 8]:
        answer = client.get(address.replace("&amp;", "&"))
        assert answer.content.decode().count('href="/jobs/') == int(count)


def test_a_figure_that_is_none_has_no_page(browser_of, owner):
    client = browser_of(owner)
    for key in ("speed-1", "nothing-here", "start"):
        assert_not_found(client.get(reverse("learning:cars", args=[key])))


def test_three_hundred_cars_cost_no_more_questions_than_forty(made, browser_of, owner):
    client = browser_of(owner)
    client.get(PAGE)  # what is asked once a session is asked here
    asked = []
    for family in ("Wren twin", "Alder B"):
        with CaptureQueriesContext(connection) as questions:
            client.get(PAGE, {"family": family})
        asked.append(len(questions))
    assert asked[0] == asked[1]


def test_a_vacuum_is_asked_in_the_unit_of_the_person(made, browser_of, mechanic):
    mechanic.vacuum_unit = "inHg"
    mechanic.save()
    asked = {"family": "Wren twin", "vacuum_kpa": "12", "vacuum_kpa_unit": "inHg"}
    assert "With 12 inHg of vacuum" in text_of(browser_of(mechanic).get(PAGE, asked))


@pytest.mark.parametrize(("count", "words"), [(1, "Only 1 car."), (2, "Only 2 cars."), (5, "5 cars:"), (6, "")])
def test_what_so_many_cars_can_tell_is_said(count, words):
    assert how_sure(count)[: len(words) or None] == words


@pytest.mark.parametrize(("count", "of", "words"), [(1, 2, "1 of 2"), (3, 40, "3 of 40: 8 %, likely 3 to 20 %")])
def test_a_share_of_two_is_none(count, of, words):
    """3 of 40: 2.6 to 19.9 % by statsmodels, proportion_confint(3, 40, method='wilson')."""
    assert share_said(share_of(count, of)) == words


def test_of_two_changed_cars_none_is_called_typical(made, browser_of, mechanic):
    changed = [car.code for car in made.of("Wren twin") if car.versions > 1 and car.less][:2]
    Engine.objects.filter(vehicle__jobs__code__in=changed).update(family="Wren pair")
    page = browser_of(mechanic).get(PAGE, {"family": "Wren pair"})
    changes = page.context["changes"].changes
    assert [(row.change.of, row.change.typical_less) for row in changes] == [(2, None)] * len(changes)
    assert len(changes) >= 2
    assert "Only 2 cars." in text_of(page)
