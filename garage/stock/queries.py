"""What is in stock: counted parts by their moves, units by those on the shelf; and what runs low."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Q, Sum

from garage.pricelist.models import PricedPart
from garage.stock.models import StockMove
from garage.units.models import UnitType

HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class InStock:
    """A part or a unit type, and how many of it are there."""

    thing: PricedPart | UnitType
    quantity: Decimal

    @property
    def is_low(self) -> bool:
        return self.thing.low_mark is not None and self.quantity <= self.thing.low_mark

    @property
    def is_below_nought(self) -> bool:
        return self.quantity < 0

    @property
    def mark(self) -> str:
        """The sign that stands beside it."""
        return "stop" if self.is_below_nought else "caution" if self.is_low else "good"

    @property
    def state(self) -> str:
        """In a word or two."""
        return "count again" if self.is_below_nought else "low" if self.is_low else "in stock"


def parts_in_stock(parts: Iterable[PricedPart] | None = None) -> list[InStock]:
    """The counted parts, each with its quantity, asked for together."""
    found = list(PricedPart.objects.filter(counted=True) if parts is None else parts)
    standing = StockMove.objects.filter(part__in=found, successors=None, withdrawn=False).order_by()
    # SQLite adds decimals as floats; to two places that is exact far beyond what a shelf holds.
    sums = dict(standing.values("part").annotate(sum=Sum("quantity")).values_list("part", "sum"))
    return [InStock(part, Decimal(sums.get(part.pk, 0)).quantize(HUNDREDTH)) for part in found]


def in_stock(part: PricedPart) -> InStock:
    return parts_in_stock([part])[0]


def units_in_stock() -> list[InStock]:
    """The unit types that are fitted still, each with its units on the shelf: in no car, and never taken out of one."""
    on_shelf = Count("revisions__units", filter=Q(revisions__units__vehicle=None, revisions__units__removed_at=None))
    kinds = UnitType.objects.filter(retired=False).annotate(on_shelf=on_shelf)
    return [InStock(kind, Decimal(kind.on_shelf)) for kind in kinds]


def what_runs_low() -> list[InStock]:
    """What should be bought, or counted again."""
    return [one for one in [*units_in_stock(), *parts_in_stock()] if one.is_low or one.is_below_nought]
