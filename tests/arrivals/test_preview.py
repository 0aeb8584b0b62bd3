"""What the preview of a list says: new, here already, doubled, refused. Nothing is saved by it."""

import pytest
from django.urls import reverse

from garage.arrivals.models import ColumnPlan, WaitingList
from garage.models import Customer, TrailEntry, Vehicle
from tests.arrivals.lists import HEADER, JONAH, MIRA, csv_of, previewed, uploaded
from tests.factories import CustomerFactory, VehicleFactory
from tests.pages import text_of


@pytest.fixture
def desk(browser_of, front_desk):
    return browser_of(front_desk)


def groups(preview):
    return [planned.group for planned in preview.context["plan"].rows]


def refusals(preview):
    return [sentence for planned in preview.context["plan"].rows for sentence in planned.row.refusals]


def changed(row, **cells):
    at = {"name": 0, "phone": 1, "email": 2, "address": 3, "plate": 4, "make": 5, "year": 7, "cyl": 10, "notes": 12}
    row = list(row)
    for name, cell in cells.items():
        row[at[name]] = cell
    return row


def test_nothing_is_in_the_book_before_bring_in(desk):
    preview = previewed(desk, MIRA, JONAH)
    assert groups(preview) == ["new", "new"]
    assert "2 customers and 2 cars to add" in text_of(preview)
    assert (Customer.objects.count(), Vehicle.objects.count(), TrailEntry.objects.count()) == (0, 0, 0)


@pytest.mark.parametrize("plate", ["klm204b", "KLM-204-B", " KLM  204 B "])
def test_a_car_that_is_here_is_found_however_its_plate_was_typed(desk, plate):
    VehicleFactory(registration="KLM 204 B", customer__name="Elsewhere")
    row = previewed(desk, changed(MIRA, plate=plate)).context["plan"].rows[0]
    assert (row.group, row.car.found.by, row.customer.makes) == ("double", "plate", True)


@pytest.mark.parametrize(
    ("here", "by"),
    [
        ({"name": "M. Holt", "phone": "+44/0171-5550100"[3:]}, "phone"),
        ({"name": "M. Holt", "email": "MIRA@example.ORG"}, "email"),
        ({"name": "MÍRA  HOLT", "address": "3, quarry hill."}, "name and address"),
    ],
)  # fmt: skip
def test_a_customer_who_is_here_is_found_by_phone_email_or_name_and_address(desk, here, by):
    CustomerFactory(**here)
    row = previewed(desk, MIRA).context["plan"].rows[0]
    assert (row.group, row.customer.found.by, row.customer.makes, row.car.makes) == ("double", by, False, True)


def test_the_same_name_alone_is_no_double_where_the_row_says_more(desk):
    CustomerFactory(name="Mira Holt", phone="0999 123 456")
    assert groups(previewed(desk, MIRA)) == ["new"]


def test_a_name_alone_means_the_one_of_that_name_and_is_asked(desk):
    CustomerFactory(name="Mira Holt", phone="0999 123 456")
    preview = previewed(desk, changed(MIRA, phone="", email="", address=""))
    assert groups(preview) == ["double"]


def test_a_name_that_two_bear_says_too_little(desk):
    CustomerFactory.create_batch(2, name="Mira Holt")
    preview = previewed(desk, changed(MIRA, phone="", email="", address=""))
    assert refusals(preview) == ["2 customers have this name. Add phone, email or address."]


def test_a_list_that_was_brought_in_brings_nothing_again(desk):
    VehicleFactory(
        registration="TRF 9", maker="Corvane", model="Six", year=1971,
        customer__name="Jonah Reed", customer__phone="01715550200", engine__cylinders=6,
    )  # fmt: skip
    assert groups(previewed(desk, JONAH)) == ["here"]


def test_an_owner_with_three_cars_is_one_customer(desk):
    preview = previewed(desk, MIRA, changed(MIRA, plate="KLM 1"), changed(MIRA, plate="KLM 2"),
                        header=[*HEADER[:8], "Serial", *HEADER[9:]])  # fmt: skip
    assert groups(preview) == ["new", "new", "new"]
    assert preview.context["made"] == {"customers": 1, "cars": 3}


def test_a_car_that_stands_in_the_file_twice_comes_in_once(desk):
    preview = previewed(desk, MIRA, changed(MIRA, plate="klm 204b"))
    assert groups(preview) == ["new", "in-file"]
    assert preview.context["made"] == {"customers": 1, "cars": 1}


def test_a_plate_with_a_letter_of_its_own_is_another_plate(desk):
    assert groups(previewed(desk, changed(JONAH, plate="BÜ H 12"), changed(JONAH, plate="B H 12"))) == ["new", "new"]


@pytest.mark.parametrize(
    ("cells", "says"),
    [
        ({"year": "sixty-four"}, "Column 8, Year: ‘sixty-four’ is not a year such as 1967."),
        ({"year": "1764"}, "Column 8, Year: Must be between 1900 and 2026."),
        ({"cyl": "7"}, "Column 11, Cylinders: ‘7’ is not a number of cylinders."),
        ({"email": "mira at home"}, "Column 3, Email: Enter an email address, such as name@example.org."),
        ({"address": "x" * 40_000}, "Column 4, Address: 40,000 letters. At most 500 fit."),
        ({"plate": ""}, "Registration: missing. The row has other facts of a car."),
        ({"make": ""}, "Make: missing. A new car needs it."),
        ({"name": "", "phone": "", "email": "", "address": ""}, "A new car needs its customer: name, phone or email."),
        ({"name": "", "phone": "", "email": ""}, "Customer’s name: missing, phone and email as well."),
    ],
)  # fmt: skip
def test_a_row_that_does_not_fit_is_refused_with_its_line_column_and_reason(desk, time_machine, cells, says):
    time_machine.move_to("2026-11-28 12:00Z")
    preview = previewed(desk, JONAH, changed(MIRA, **cells))
    assert groups(preview) == ["new", "refused"]
    assert refusals(preview) == [says]
    assert "Line 3" in text_of(preview)
    assert says in preview.content.decode().replace("&#x27;", "'")


def test_a_row_with_more_cells_than_the_header_is_refused_and_empty_ones_are_not(desk):
    preview = previewed(desk, [*MIRA, "", ""], [*JONAH, "", "stray"])
    assert groups(preview) == ["new", "refused"]
    assert refusals(preview) == ["Column 15: more cells than the header’s 13."]


def test_a_broken_file_says_why_on_its_page_and_nothing_waits(desk):
    answer = uploaded(desk, b"PK\x03\x04 a workbook", name="customers.csv")
    assert answer.status_code == 422
    assert "This is a workbook, not CSV." in text_of(answer)
    assert not WaitingList.objects.exists()


def test_columns_are_mapped_once_and_offered_when_the_header_comes_again(desk):
    header = ["Who", "Ring", "Car"]
    previewed(desk, ["Mira Holt", "0171 555 0100", "Alder"], header=header, columns=["name", "phone", ""])
    answer = desk.get(uploaded(desk, csv_of(["Jonah", "1", "x"], header=header)).url)
    assert "A list with this header came before." in text_of(answer)
    assert WaitingList.objects.get().columns == ["name", "phone", ""]
    assert ColumnPlan.objects.count() == 1


def test_columns_that_make_nothing_are_refused_on_their_page(desk):
    url = uploaded(desk, csv_of(MIRA)).url
    answer = desk.post(url, {"column-0": "name", "column-1": "name"})
    assert answer.status_code == 422
    assert "Customer’s name is chosen twice." in text_of(answer)


def test_another_person_does_not_see_a_list_that_waits(desk, browser_of, owner):
    preview = previewed(desk, MIRA)
    address = reverse("arrivals:preview", args=[preview.context["own"].pk])
    assert browser_of(owner).get(address).status_code == 404


def test_a_mechanic_brings_no_list_in(browser_of, mechanic):
    assert browser_of(mechanic).get(reverse("arrivals:upload")).status_code == 403
    assert "Import list" not in text_of(browser_of(mechanic).get(reverse("customers:list")))


def test_a_list_that_is_discarded_is_gone(desk):
    own = previewed(desk, MIRA).context["own"]
    desk.post(reverse("arrivals:drop", args=[own.pk]))
    assert not WaitingList.objects.exists()


def test_choices_of_a_page_are_kept_and_one_can_be_made_for_all(desk):
    for number in range(60):
        CustomerFactory(name=f"Old {number}", phone=f"0800 00 {number:03d}")
    rows = [[f"Person {n}", f"080000{n:03d}"] for n in range(60)]
    preview = previewed(desk, *rows, header=["Name", "Phone"])
    address = reverse("arrivals:preview", args=[preview.context["own"].pk])
    answer = desk.post(address, {"choice 3 customer": "new", "page": "2", "show": "double"})
    assert answer.url.endswith("?show=double&page=2")
    assert desk.get(address).context["made"]["customers"] == 1
    desk.post(address, {"for_all": "new"})
    assert desk.get(address).context["made"]["customers"] == 60
