"""What of a bill was quoted, what came by supplements, and what goes beyond. Before VAT, as the lines are."""

from dataclasses import dataclass
from decimal import Decimal

from jobs.billing.models import Bill, BillKind
from jobs.job.models import Job
from jobs.quotes.queries import Agreed, agreed
from jobs.vat.sums import NOUGHT


@dataclass(frozen=True, slots=True)
class QuoteShare:
    """How a bill of `net` fills up what was agreed, after bills of `before` on the same job.

    Bills fill the quote first, then the supplements; what is left goes beyond. `percent` is how far beyond a workshop
    goes without asking.
    """

    agreed: Agreed
    before: Decimal
    net: Decimal
    percent: int

    @property
    def of_quote(self) -> Decimal:
        return self._within(NOUGHT, self.agreed.quoted)

    @property
    def of_supplements(self) -> Decimal:
        return self._within(self.agreed.quoted, self.agreed.total)

    @property
    def beyond(self) -> Decimal:
        return self.net - self.of_quote - self.of_supplements

    @property
    def beyond_in_all(self) -> Decimal:
        """By how much all bills of the job, this one among them, go beyond what was agreed."""
        return max(self.before + self.net - self.agreed.total, NOUGHT)

    @property
    def is_asked_first(self) -> bool:
        """Whether that is more than the workshop bills without asking."""
        return self.beyond_in_all * 100 > self.agreed.total * self.percent

    def _within(self, low: Decimal, high: Decimal) -> Decimal:
        """The part of this bill that lies between `low` and `high` of all that is billed on the job."""
        return min(max(self.before + self.net, low), high) - min(max(self.before, low), high)


def share_of(job: Job, net: Decimal, percent: int) -> QuoteShare | None:
    """How a bill of `net` on `job` stands to its quote; None where no quote was accepted."""
    found = agreed(job)
    return QuoteShare(found, _billed(job), net, percent) if found else None


def _billed(job: Job) -> Decimal:
    """What stands on the bills of `job`, less what credit notes took back. Added here, to the penny."""
    rows = Bill.objects.filter(job=job).values_list("kind", "net")
    return sum((-net if kind == BillKind.CREDIT_NOTE else net for kind, net in rows), NOUGHT)
