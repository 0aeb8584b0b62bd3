"""A list of twelve rows, one here already and one refused: brought in, and undone, at a desk."""

import pytest
from playwright.sync_api import expect

from garage.arrivals.models import WaitingList
from garage.models import Customer, Vehicle
from tests.arrivals.lists import JONAH, MIRA, csv_of
from tests.browser.conftest import DESK, session_of
from tests.factories import CustomerFactory

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def twelve_rows() -> str:
    rest = ["Alder", "1500", "1966", "", "", "4", "", ""]
    plain = [["Owner " + letter, f"0171 555 03{n:02d}", "", "", f"QRR {n}", *rest]
             for n, letter in enumerate("ABCDEFGHIJ")]  # fmt: skip
    return csv_of(MIRA, [*JONAH[:7], "soon", *JONAH[8:]], *plain, delimiter=";")


def test_a_list_is_looked_at_brought_in_and_undone(tablet, live_server, front_desk):
    ours = CustomerFactory(name="M. Holt", phone="0171-5550100")
    page = tablet(live_server.url, session_of(front_desk), DESK)
    page.goto("/customers/")
    page.get_by_role("link", name="Import list").click()
    file = {"name": "old-book.csv", "mimeType": "text/csv", "buffer": twelve_rows().encode("utf-16")}
    page.get_by_label("CSV file").set_input_files(file)
    page.get_by_role("button", name="Upload list").click()
    expect(page.get_by_label("Capacity (cc)")).to_have_value("displacement")
    page.get_by_role("button", name="Show preview").click()

    expect(page.get_by_text("10 customers and 11 cars to add, 0 to complete.")).to_be_visible()
    expect(page.get_by_text("Column 8, Year: ‘soon’ is not a year such as 1967.")).to_be_visible()
    assert Vehicle.objects.count() == 0
    page.get_by_label("Customer of line 2").select_option("Fill what is empty")
    page.get_by_role("button", name="Bring in").click()

    expect(page.get_by_role("heading", name="Import")).to_be_visible()
    ours.refresh_from_db()
    assert (ours.name, ours.email, ours.vehicles.get().registration) == ("M. Holt", "mira@example.org", "KLM 204 B")
    assert (Customer.objects.count(), Vehicle.objects.count()) == (11, 11)
    assert not WaitingList.objects.exists()

    page.get_by_role("button", name="Undo this import").click()
    expect(page.get_by_text("Import undone.").first).to_be_visible()
    ours.refresh_from_db()
    assert (ours.email, Customer.objects.count(), Vehicle.objects.count()) == ("", 1, 0)
