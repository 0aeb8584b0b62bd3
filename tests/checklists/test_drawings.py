"""The drawings beside items: there, of an item that is there, read out in words, and kept for a dead spot."""

from xml.etree import ElementTree

import pytest
from django.conf import settings
from django.urls import reverse

from jobs.checklists.drawings import DRAWING_OF, picture_of
from jobs.checklists.shipped import shipped_lists
from tests.checklists.factories import sheet_with

FOLDER = settings.BASE_DIR / "static" / "img" / "drawings"
DRAWN = {name for name, _ in DRAWING_OF.values()}


def test_every_drawing_is_of_an_item_that_comes_along():
    assert set(DRAWING_OF) <= {item.key for one in shipped_lists() for item in one.items}


def test_every_drawing_is_used_and_is_there():
    assert {file.stem for file in FOLDER.glob("*.svg")} == DRAWN


@pytest.mark.parametrize("name", sorted(DRAWN))
def test_a_drawing_is_a_picture_and_nothing_else(name):
    root = ElementTree.parse(FOLDER / f"{name}.svg").getroot()  # noqa: S314 - our own file
    space = "{http://www.w3.org/2000/svg}"
    assert root.find(f"{space}title").text
    assert {element.tag.removeprefix(space) for element in root.iter()} <= {
        "svg", "title", "rect", "path", "circle", "text",
    }  # fmt: skip


@pytest.mark.django_db
def test_the_sheet_and_the_page_of_the_item_show_it_with_words(mechanic, browser_of):
    sheet = sheet_with([{"key": "feed-drop", "kind": "measure", "unit": "V"}, {"key": "fuse"}], person=mechanic)
    client = browser_of(mechanic)
    for address in (
        reverse("fitting:page", args=[sheet.job.code]),
        reverse("checklists:item", args=[sheet.job.code, "fitting", "feed-drop"]),
    ):
        text = client.get(address).content.decode()
        assert "/static/img/drawings/voltage-lost" in text
        assert "what the feed loses" in text
    plain = client.get(reverse("checklists:item", args=[sheet.job.code, "fitting", "fuse"])).content.decode()
    assert "drawings" not in plain


@pytest.mark.django_db
def test_a_picture_of_the_workshop_s_own_goes_before_the_drawing(mechanic):
    sheet = sheet_with([{"key": "feed-drop", "kind": "measure", "unit": "V", "picture": "x.jpg"}], person=mechanic)
    item = sheet.revision.items.get()
    assert picture_of(item).url == reverse("checklists:item-picture", args=[item.pk])


@pytest.mark.django_db
def test_the_drawings_are_kept_for_a_dead_spot(client, workshop):
    worker = client.get(reverse("checklists:service-worker")).content.decode()
    for name in DRAWN:
        assert f"/static/img/drawings/{name}.svg" in worker
