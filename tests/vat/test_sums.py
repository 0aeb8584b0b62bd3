"""What a bill comes to. The rules are those of EN 16931-1, quoted from memory; the judge is exact fractions."""

from decimal import Decimal
from fractions import Fraction
from math import floor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.vat.sums import TaxedAmount, line_amount, sums_of, to_the_penny, with_the_rest

pennies = st.decimals(0, 10_000, places=2)
percents = st.sampled_from([Decimal(text) for text in ("0", "5", "5.5", "7", "19", "20", "25")])
lines = st.lists(st.builds(TaxedAmount, pennies, st.sampled_from([1, 2]), percents), min_size=1, max_size=12)


def rounded(value: Fraction) -> Fraction:
    """To a hundredth, halves up, by whole numbers alone."""
    return Fraction(floor(value * 100 + Fraction(1, 2)), 100)


def taxed(amount, percent="20", rate=1):
    return TaxedAmount(Decimal(amount), rate, Decimal(percent))


@given(lines)
def test_every_foot_keeps_the_calculation_rules_of_the_european_standard(lines):
    sums = sums_of(lines)
    line_total = sum(Fraction(line.amount) for line in lines)
    assert Fraction(sums.net) == line_total  # BR-CO-10, and BR-CO-13 without allowances and charges
    for one in sums.rates:
        assert Fraction(one.vat) == rounded(Fraction(one.net) * Fraction(one.percent) / 100)  # BR-CO-17
        of_it = [line for line in lines if (line.rate, line.percent) == (one.rate, one.percent)]
        assert Fraction(one.net) == sum(Fraction(line.amount) for line in of_it)
    assert sums.vat == sum(one.vat for one in sums.rates)  # BR-CO-14
    assert sums.gross == sums.net + sums.vat  # BR-CO-15, and BR-CO-16 before anything is paid


@pytest.mark.parametrize(
    ("amounts", "percent", "net", "vat"),
    [
        (["0.33", "0.33", "0.33"], "20", "0.99", "0.20"),  # by hand: 0.198 once; three times 0.066 would be 0.21
        (["0.25"], "10", "0.25", "0.03"),  # by hand: 0.025, halves up
        (["160.00", "12.40"], "20", "172.40", "34.48"),  # by hand
        (["99.99"], "5.5", "99.99", "5.50"),  # by hand: 5.49945
        (["100.00"], "0", "100.00", "0.00"),
    ],
)
def test_vat_is_reckoned_once_on_the_sum_of_a_rate(amounts, percent, net, vat):
    sums = sums_of(taxed(amount, percent) for amount in amounts)
    assert (sums.net, sums.vat, sums.gross) == (Decimal(net), Decimal(vat), Decimal(net) + Decimal(vat))


def test_rates_of_equal_height_but_other_reason_stay_apart():
    sums = sums_of([taxed("10", "0", 1), taxed("20", "0", 2)])
    assert [(one.rate, one.net) for one in sums.rates] == [(1, Decimal(10)), (2, Decimal(20))]


def test_halves_go_away_from_nought_so_that_a_credit_mirrors_its_bill():
    assert to_the_penny(Decimal("0.005")) == Decimal("0.01")
    assert to_the_penny(Decimal("-0.005")) == Decimal("-0.01")


def test_a_line_is_rounded_by_itself():
    assert line_amount(Decimal("0.33"), Decimal("1.50")) == Decimal("0.50")  # by hand: 0.495


@given(lines.filter(lambda found: len({(line.rate) for line in found}) == len({(x.rate, x.percent) for x in found})))
def test_credit_notes_line_by_line_take_back_exactly_what_the_bill_asked_for(lines):
    bill, before = sums_of(lines), []
    for line in lines:
        before.append(with_the_rest(sums_of([line]), bill=bill, before=before))
    assert sum(note.gross for note in before) == bill.gross


def test_without_the_rest_three_credit_notes_would_miss_their_bill_by_a_penny():
    parts = [taxed("0.33")] * 3
    alone = [sums_of([part]).gross for part in parts]
    assert sum(alone) - sums_of(parts).gross == Decimal("0.01")
