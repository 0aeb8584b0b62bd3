"""The workshop's own form of bill numbers."""

from datetime import date

import pytest

from jobs.billing.numbers import NumberForm

DAY = date(2026, 11, 28)


@pytest.mark.parametrize(
    ("form", "serial", "number", "series"),
    [
        ("YYYY-####", 42, "2026-0042", 2026),
        ("YY/###", 7, "26/007", 2026),
        ("R ######", 42, "R 000042", 0),
        ("YARD-YYYY-##", 123, "YARD-2026-123", 2026),
    ],
)
def test_a_number_is_written_in_the_workshop_s_form(form, serial, number, series):
    assert NumberForm(form).number(DAY, serial) == number
    assert NumberForm(form).series(DAY) == series


@pytest.mark.parametrize("form", ["", "YYYY", "##-##", "#########", "YYYY-YY-##", "Nº ###", "<b>##"])
def test_a_form_whose_numbers_could_not_be_told_apart_is_refused(form):
    with pytest.raises(ValueError, match=r"Use letters|Give"):
        NumberForm(form)
