"""What counts as a figure at the doors of `timing`, and what a refusal says."""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pint
import pytest

from timing.errors import TimingError
from timing.inputs import finite


@pytest.mark.parametrize(
    "value",
    [
        12,
        12.0,
        np.int16(12),
        np.float32(12),
        Decimal("12"),
        Fraction(12),
        np.array(12),
        np.array([12], dtype=np.uint8)[0],
    ],
    ids=lambda value: type(value).__name__,
)
def test_every_kind_of_real_number_is_a_figure(value):
    assert finite(value, "it").tolist() == 12.0


@pytest.mark.parametrize(
    "values",
    [[1, 2.5], (1, Decimal("2.5")), np.array([1, 2.5], dtype=object), np.array([1, 2.5], dtype=np.float16), [[1, 2.5]]],
    ids=str,
)
def test_lists_and_arrays_of_them_are_figures(values):
    assert finite(values, "they").ravel().tolist() == [1.0, 2.5]


def test_a_range_and_an_empty_list_are_figures():
    assert finite(range(3), "they").tolist() == [0.0, 1.0, 2.0]
    assert finite([], "they").shape == (0,)


def test_the_callers_array_is_not_touched():
    given = np.array([1.0, 2.0])
    taken = finite(given, "they")
    taken[0] = 9.0
    assert given.tolist() == [1.0, 2.0]


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("12", "the speed must be a number"),
        (10**400, "the speed is too large to be worked with"),
        (float("nan"), "the speed must be a finite number"),
        (
            np.ma.masked_array([1.0, 2.0], mask=[False, True]),
            "the speed must be without masked values: leave them out first",
        ),
        (
            pint.UnitRegistry(cache_folder=None).Quantity(12.0, "inHg"),
            "the speed must be a plain number: take its figure in the unit that is asked for",
        ),
    ],
)
def test_a_refusal_says_what_to_do(value, said):
    with pytest.raises(TimingError) as refusal:
        finite(value, "the speed")
    assert str(refusal.value) == said
