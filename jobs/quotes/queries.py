"""Where a quote stands, what the customer agreed to, and what a quote for a kind of job begins with."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.utils import timezone
from django.utils.text import capfirst

from garage.files.issued import read_issued
from jobs.costs.models import CostKind
from jobs.costs.queries import usual_hours
from jobs.job.models import Job, JobState
from jobs.quotes.models import AnswerKind, Quote, QuoteAnswer, QuoteKind, UsualPart
from jobs.vat.sums import NOUGHT

MARKS = {
    "accepted": "good",
    "refused": "stop",
    "expired": "caution",
    "replaced": "open",
    "withdrawn": "open",
    "waiting": "hold",
}


@dataclass(frozen=True, slots=True)
class Standing:
    """Where one version of a quote stands on `today`."""

    quote: Quote
    answer: QuoteAnswer | None
    is_replaced: bool
    today: date

    @property
    def is_expired(self) -> bool:
        return self.quote.valid_until < self.today

    @property
    def is_withdrawn(self) -> bool:
        """Whether the job was abandoned: nothing of it is ordered any longer."""
        return self.quote.job.state == JobState.ABANDONED

    @property
    def state(self) -> str:
        """Where it stands, in one word."""
        if self.answer:
            return str(self.answer.kind)
        if self.is_replaced:
            return "replaced"
        if self.is_withdrawn:
            return "withdrawn"
        return "expired" if self.is_expired else "waiting"

    @property
    def mark(self) -> str:
        """The sign that stands beside the state."""
        return MARKS[self.state]

    @property
    def waits(self) -> bool:
        return self.state == "waiting"


def standings_of(quotes: Iterable[Quote], today: date | None = None) -> list[Standing]:
    """Where each of `quotes` stands, asked for together."""
    quotes = list(quotes)
    keys = [quote.pk for quote in quotes]
    answers = {answer.quote_id: answer for answer in QuoteAnswer.objects.filter(quote__in=keys)}
    replaced = set(Quote.objects.filter(replaces__in=keys).values_list("replaces_id", flat=True))
    day = today or timezone.localdate()
    return [Standing(quote, answers.get(quote.pk), quote.pk in replaced, day) for quote in quotes]


def standing_of(quote: Quote, today: date | None = None) -> Standing:
    return standings_of([quote], today)[0]


def quotes_of(job: Job) -> list[Standing]:
    """Every version of every quote and supplement of `job`, newest first."""
    return standings_of(job.quotes.select_related("issued_by"))


def waiting_for_yes(job: Job) -> list[Standing]:
    """What the customer of `job` is asked and has not answered."""
    return [standing for standing in quotes_of(job) if standing.waits]


def accepted_quote(job: Job) -> Quote | None:
    """The quote that the customer accepted: one, for after it there are supplements alone."""
    return job.quotes.filter(kind=QuoteKind.QUOTE, answer__kind=AnswerKind.ACCEPTED).first()


@dataclass(frozen=True, slots=True)
class Agreed:
    """What the customer agreed to pay before VAT."""

    quote: Quote
    supplements: tuple[Quote, ...]

    @property
    def quoted(self) -> Decimal:
        return self.quote.net

    @property
    def added(self) -> Decimal:
        """What the accepted supplements come to."""
        return sum((one.net for one in self.supplements), NOUGHT)

    @property
    def total(self) -> Decimal:
        return self.quoted + self.added


def agreed(job: Job) -> Agreed | None:
    """The accepted quote of `job` with its accepted supplements; None where there is none."""
    found = list(job.quotes.filter(answer__kind=AnswerKind.ACCEPTED).order_by("pk"))
    quote = next((one for one in found if one.kind == QuoteKind.QUOTE), None)
    if quote is None:
        return None
    return Agreed(quote, tuple(one for one in found if one.kind == QuoteKind.SUPPLEMENT))


@dataclass(frozen=True, slots=True)
class FirstLine:
    """A line with which a quote begins, before anybody has edited it."""

    kind: CostKind
    description: str
    quantity: Decimal
    unit_price: Decimal | None


def lines_at_first(job: Job, hourly_rate: Decimal | None) -> list[FirstLine]:
    """The usual hours and parts of the kind of `job`."""
    hours = FirstLine(CostKind.HOURS, job.get_kind_display().capitalize(), usual_hours()[job.kind], hourly_rate)
    parts = UsualPart.objects.filter(kind=job.kind, part__offered=True).select_related("part")
    return [
        hours,
        *(FirstLine(CostKind.PART, str(one.part)[:160], one.quantity, one.part.unit_price) for one in parts),
    ]


def stored_quote(quote: Quote) -> bytes:
    """The PDF as it was sent. Raises what `read_issued` does."""
    return read_issued(quote.file, quote.sha256, capfirst(str(quote)))
