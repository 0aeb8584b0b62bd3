"""What a bill comes to: each line to the penny, then the VAT once for each rate, then the sums. Decimal throughout.

The order is that of the European standard EN 16931-1, rules BR-CO-10 and BR-CO-13 to BR-CO-17 (from memory): a line is
rounded, the lines of one rate are added, the VAT of a rate is reckoned on that sum and rounded once, and the totals are
sums of what was rounded. So every figure on the paper can be added up again by hand. Halves are rounded away from
nought, so that a credit note takes back exactly what its bill asked for.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

PENNY = Decimal("0.01")
NOUGHT = Decimal("0.00")
MOST_MONEY = Decimal("9999999999.99")  # what a column of the book holds


@dataclass(frozen=True, slots=True)
class TaxedAmount:
    """The net amount of a line, the id of its rate, and the rate itself. [%]"""

    amount: Decimal
    rate: int
    percent: Decimal


@dataclass(frozen=True, slots=True)
class RateSum:
    """What the lines of one rate come to, and the VAT on it."""

    rate: int
    percent: Decimal
    net: Decimal
    vat: Decimal


@dataclass(frozen=True, slots=True)
class Sums:
    """The foot of a bill: a sum for each rate, in the order in which the rates first appear, and the totals."""

    rates: tuple[RateSum, ...]

    @property
    def net(self) -> Decimal:
        return sum((one.net for one in self.rates), NOUGHT)

    @property
    def vat(self) -> Decimal:
        return sum((one.vat for one in self.rates), NOUGHT)

    @property
    def gross(self) -> Decimal:
        return self.net + self.vat


def to_the_penny(amount: Decimal) -> Decimal:
    """`amount` to two places, halves away from nought."""
    return amount.quantize(PENNY, ROUND_HALF_UP)


def line_amount(quantity: Decimal, unit_price: Decimal) -> Decimal:
    """What a line comes to before VAT."""
    return to_the_penny(quantity * unit_price)


def sums_of(lines: Iterable[TaxedAmount]) -> Sums:
    """The foot of a bill with these `lines`."""
    nets: dict[tuple[int, Decimal], Decimal] = {}
    for line in lines:
        key = (line.rate, line.percent)
        nets[key] = nets.get(key, NOUGHT) + line.amount
    return Sums(
        tuple(RateSum(rate, percent, net, to_the_penny(net * percent / 100)) for (rate, percent), net in nets.items())
    )


def with_the_rest(credited: Sums, *, bill: Sums, before: Iterable[Sums]) -> Sums:
    """The foot of a credit note, such that several of them take back their bill exactly.

    Rounding the VAT of each part by itself can miss the VAT of the whole by a penny. The part that takes back the last
    of a rate therefore takes back what is left of its VAT. `credited` is the foot of the note by itself, `before` those
    of the earlier notes on the same bill.
    """
    earlier = [one for sums in before for one in sums.rates]
    asked = {one.rate: one for one in bill.rates}
    settled = []
    for part in credited.rates:
        whole = asked[part.rate]
        others = [one for one in earlier if one.rate == part.rate]
        is_last = sum((one.net for one in others), part.net) == whole.net
        vat = whole.vat - sum((one.vat for one in others), NOUGHT) if is_last else part.vat
        settled.append(RateSum(part.rate, part.percent, part.net, vat))
    return Sums(tuple(settled))
