"""A bill beside the quote that the customer accepted: what of it was quoted, what was added, what goes beyond."""

from decimal import Decimal

import pytest

from jobs.billing.actions import BeyondQuoteError
from jobs.billing.against_quote import QuoteShare
from jobs.quotes.models import QuoteKind
from jobs.quotes.queries import Agreed
from tests.quotes.conftest import on_paper, quote_at_once, quoted  # noqa: F401


class OfferedNet:
    def __init__(self, net):
        self.net = Decimal(net)


@pytest.mark.parametrize(
    ("before", "net", "parts"),
    [
        ("0", "80", ("80", "0", "0")),
        ("0", "130", ("100", "30", "0")),
        ("0", "150", ("100", "40", "10")),
        ("90", "60", ("10", "40", "10")),
        ("120", "10", ("0", "10", "0")),
        ("150", "5", ("0", "0", "5")),
    ],
)
def test_bills_fill_the_quote_then_the_supplements_and_the_rest_goes_beyond(before, net, parts):
    # 100 quoted and 40 added; by hand
    share = QuoteShare(Agreed(OfferedNet("100"), (OfferedNet("40"),)), Decimal(before), Decimal(net), 10)
    assert (share.of_quote, share.of_supplements, share.beyond) == tuple(map(Decimal, parts))


@pytest.mark.parametrize(("net", "asked"), [("110.00", False), ("110.01", True)])
def test_ten_in_a_hundred_more_is_billed_without_asking_and_not_a_penny_above(net, asked):
    assert QuoteShare(Agreed(OfferedNet("100"), ()), Decimal(0), Decimal(net), 10).is_asked_first == asked


def test_a_bill_far_beyond_the_quote_is_issued_when_somebody_says_so(job, billed, quoted, on_paper):  # noqa: F811
    on_paper(quoted(job, "100.00"))  # on the job are 172.40
    with pytest.raises(BeyondQuoteError, match=r"72\.40 beyond the 100\.00"):
        billed(job)
    bill = billed(job, beyond_is_right=True)
    assert bill.made_from["agreed"] | {"quote": ""} == {
        "quote": "", "of_quote": "100.00", "supplements": [], "of_supplements": "0.00", "beyond": "72.40",
    }  # fmt: skip


def test_a_credited_bill_leaves_room_for_the_next(job, billed, credited, quoted, on_paper):  # noqa: F811
    on_paper(quoted(job, "150.00"))
    on_paper(quoted(job, "22.40", kind=QuoteKind.SUPPLEMENT))
    credited(billed(job))
    told = billed(job).made_from["agreed"]
    assert (told["of_quote"], told["of_supplements"], told["beyond"]) == ("150.00", "22.40", "0.00")


def test_without_a_quote_a_bill_says_nothing_of_one(job, billed):
    assert billed(job).made_from["agreed"] is None
