"""Long lists are paged by the key of the row a page goes on from."""

import pytest

from garage.customers.models import Customer
from garage.lists.pages import page_by_key
from tests.factories import CustomerFactory

pytestmark = pytest.mark.django_db
BY_NAME = ("name", "pk")


@pytest.fixture
def names():
    """Eleven customers, four of one name."""
    for name in ["Vale", "Marsh", "Marsh", "Abel", "Marsh", "Young", "Marsh", "Zeal", "Birch", "Cole", "Dunn"]:
        CustomerFactory(name=name)
    return list(Customer.objects.order_by(*BY_NAME))


def walked(order, way):
    """Every page from one end to the other, as somebody turns them."""
    asked, pages = {}, []
    if way == "before":  # from the last page backwards
        last = Customer.objects.order_by(*order).last()
        asked = {"before": str(last.pk)}
        pages.append([last])
    while True:
        page = page_by_key(Customer.objects.all(), asked, order=order, length=3)
        pages.append(page.rows)
        following = getattr(page, way)
        if following is None:
            return pages
        asked = {way: str(following)}


@pytest.mark.parametrize("order", [BY_NAME, ("-name", "-pk")])
@pytest.mark.parametrize("way", ["after", "before"])
def test_turning_pages_shows_every_row_once_and_in_order(names, order, way):
    rightly = list(Customer.objects.order_by(*order))
    pages = walked(order, way)
    if way == "before":
        pages.reverse()
    assert [row for page in pages for row in page] == rightly


def test_the_first_page_has_none_before_it_and_the_last_none_after(names):
    first = page_by_key(Customer.objects.all(), {}, order=BY_NAME, length=3)
    assert (first.rows, first.before, first.after) == (names[:3], None, names[2].pk)
    last = page_by_key(Customer.objects.all(), {"after": str(names[8].pk)}, order=BY_NAME, length=3)
    assert (last.rows, last.before, last.after) == (names[9:], names[9].pk, None)


def test_back_on_the_first_page_there_is_nothing_before(names):
    page = page_by_key(Customer.objects.all(), {"before": str(names[3].pk)}, order=BY_NAME, length=3)
    assert (page.rows, page.before) == (names[:3], None)


@pytest.mark.parametrize("key", ["", "x", "-1", "0", "999999999", "9" * 40, "1 OR 1=1", "٣"])
def test_a_key_of_no_row_leads_to_the_beginning(names, key):
    for way in ("after", "before"):
        assert page_by_key(Customer.objects.all(), {way: key}, order=BY_NAME, length=3).rows == names[:3]


def test_an_empty_list_has_no_pages():
    page = page_by_key(Customer.objects.all(), {}, order=BY_NAME, length=3)
    assert (page.rows, page.before, page.after) == ([], None, None)


def test_a_row_that_comes_in_meanwhile_moves_nobody_to_another_page(names):
    first = page_by_key(Customer.objects.all(), {}, order=BY_NAME, length=3)
    CustomerFactory(name="Aaron")
    second = page_by_key(Customer.objects.all(), {"after": str(first.after)}, order=BY_NAME, length=3)
    assert second.rows == names[3:6]
