"""Figures as they come from a keyboard, a phone's number pad or another sheet."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from garage.quantities.fields import MeasureField
from garage.quantities.measure import VACUUM
from garage.quantities.typed import ExactField, FigureField

FIELDS = [FigureField(), ExactField(max_digits=8, decimal_places=3), MeasureField(quantity=VACUUM)]


@pytest.mark.parametrize("field", FIELDS)
@pytest.mark.parametrize(
    ("typed", "figure"),
    [("12.5", 12.5), ("12,5", 12.5), (" 8 ", 8), ("0,125", 0.125), ("\u22124", -4), ("+3", 3), (".5", 0.5), ("7.", 7)],
)
def test_a_figure_is_read_with_a_point_or_a_comma_and_either_minus_sign(field, typed, figure):
    assert float(field.clean(typed)) == figure


@pytest.mark.parametrize("field", FIELDS)
@pytest.mark.parametrize("typed", ["1,250", "-1,250", "950,000"])
def test_what_is_a_thousand_to_one_and_one_to_another_is_asked_again(field, typed):
    with pytest.raises(ValidationError, match=f"‘{typed}’ could mean {typed.replace(',', '')} or"):
        field.clean(typed)


@pytest.mark.parametrize("field", FIELDS)
@pytest.mark.parametrize(
    "typed", ["1_0", "1e3", "inf", "nan", "1,2,3", "1,250.5", "\u0663", "ten", "--4", "1 2", "9" * 400]
)
def test_what_a_machine_might_read_and_no_person_writes_is_refused(field, typed):
    with pytest.raises(ValidationError):
        field.clean(typed)


@given(st.decimals(-9999, 9999, places=2))
def test_money_is_exact_whichever_sign_is_before_its_pence(amount):
    assert ExactField(max_digits=6, decimal_places=2).clean(str(amount).replace(".", ",")) == Decimal(amount)


def test_a_figure_outside_what_is_sound_is_refused_with_the_bounds():
    with pytest.raises(ValidationError, match="between 60 and 115"):
        FigureField(unit="RON", between=(60, 115)).clean("950")


@pytest.mark.parametrize(("kept", "shown"), [(72.0, "72"), (8.5, "8.5"), (0.1 + 0.2, "0.3"), (1234.5678, "1234.5678")])
def test_a_figure_is_shown_as_people_write_it(kept, shown):
    assert FigureField().prepare_value(kept) == shown
