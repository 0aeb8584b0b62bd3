"""A customer's own bills, on their link."""

from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from garage.files.issued import PaperDamagedError, PaperErasedError
from jobs.billing import queries
from jobs.billing.models import Bill
from jobs.documents.link_pages import LinkSection, opened, paper_for_the_customer
from jobs.job.models import Job


def bills_of(job: Job) -> dict[str, Any]:
    """The bills and credit notes of this job, each with where it stands."""
    found = list(queries.bills_for_customer(job))
    return {"accounts": queries.accounts_of(found)} if found else {}


BILLS_OF_THE_CUSTOMER = LinkSection("jobs/billing/_bills_of_customer.html", bills_of)


@login_not_required
@never_cache
@require_GET
def paper(request: HttpRequest, token: str, pk: int) -> HttpResponse:
    """The PDF as it went out."""
    bill: Bill = get_object_or_404(queries.bills_for_customer(opened(token).job), pk=pk)
    try:
        made = queries.stored_bill(bill)
    except (PaperDamagedError, PaperErasedError):
        raise Http404 from None
    return paper_for_the_customer(made, f"{bill.kind.replace(' ', '-')}-{bill.series}-{bill.serial}")
