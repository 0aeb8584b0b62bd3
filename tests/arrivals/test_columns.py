"""What a column holds is guessed from its header."""

import pytest

from garage.arrivals.columns import guessed, header_sha256, refusal_of


@pytest.mark.parametrize(
    ("header", "keys"),
    [
        (["Client Name", "TEL. NO", "E-Mail", "Postcode"], ["name", "phone", "email", "address"]),
        (["First name", "Surname", "Mobile"], ["first_name", "surname", "phone"]),
        (["Owner’s name", "Reg. No.", "Marque", "Model"], ["name", "registration", "maker", "model"]),
        (["Street", "Town", "Whatever", "Engine N°"], ["address", "address", "", ""]),
        (["Phone", "Mobile"], ["phone", ""]),  # one phone a customer
        (["Name", "Notes"], ["name", "customer_notes"]),
        (["Name", "Plate", "Make", "Model", "Notes"], ["name", "registration", "maker", "model", "car_notes"]),
    ],
)  # fmt: skip
def test_plain_words_are_understood(header, keys):
    assert guessed(header) == keys


@pytest.mark.parametrize(
    ("columns", "says"),
    [
        (["phone", "phone"], "Phone is chosen twice."),
        (["name", "surname"], "Choose the whole name, or first name and surname."),
        (["", "address"], "Say which column has the customer’s name, phone or email, or the registration."),
        (["name", "year"], "Say which column has the registration."),
        (["name", "registration", "maker"], "Say which columns have make and model."),
        (["registration", "maker", "model"], "A car needs its customer. Say which column has name, phone or email."),
        (["name", "address", "address", "registration", "maker", "model"], ""),
        (["phone", ""], ""),
    ],
)
def test_columns_that_make_no_customer_or_car_are_refused(columns, says):
    assert refusal_of(columns) == says


def test_a_header_is_known_again_however_it_is_capitalised():
    assert header_sha256(["Name", "Phone"]) == header_sha256(["NAME", "phone"]) != header_sha256(["Name", "Tel"])
