"""Figures as they come from a keyboard, a phone's number pad or another sheet."""

import json
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from garage.quantities.fields import MeasureField
from garage.quantities.measure import VACUUM
from garage.quantities.typed import ExactField, FigureField, NotAFigureError, figure

FIELDS = [FigureField(), ExactField(max_digits=8, decimal_places=3), MeasureField(quantity=VACUUM)]


# The same table is read by the scripts: tests/js/figures.test.mjs.
CASES = json.loads((Path(__file__).resolve().parents[1] / "cases" / "typed_figures.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("case", CASES["read"], ids=lambda case: ascii(case["typed"]))
def test_a_figure_is_read_with_a_point_or_a_comma_and_either_sign(case):
    assert figure(case["typed"]) == case["value"]


@pytest.mark.parametrize("case", CASES["refused"], ids=lambda case: ascii(case["typed"]))
def test_what_no_person_writes_or_two_read_in_two_ways_is_refused_with_the_reason(case):
    with pytest.raises(NotAFigureError) as refusal:
        figure(case["typed"])
    assert str(refusal.value) == case["why"]


@pytest.mark.parametrize("field", FIELDS)
@pytest.mark.parametrize("case", [case for case in CASES["read"] if "\u00a0" not in case["typed"]], ids=str)
def test_every_field_reads_figures_in_the_same_way(field, case):
    assert float(field.clean(case["typed"])) == case["value"]


@pytest.mark.parametrize("field", FIELDS)
@pytest.mark.parametrize(
    "typed", ["9" * 400, *(case["typed"] for case in CASES["refused"] if "inHg" not in case["typed"])]
)
def test_every_field_refuses_what_is_no_figure(field, typed):
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
