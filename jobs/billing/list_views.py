"""Every bill, those that wait for money, and the lists for the accountant."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from garage.lists.pages import page_by_key
from garage.people.access import permission_required
from jobs.billing import queries
from jobs.billing.accounts import bills_as_csv, payments_as_csv
from jobs.billing.forms import PeriodForm

A_PAGE = 40
STATES = {"open": "Waiting for money", "overdue": "Overdue", "": "All bills"}
# What waits longest for its money comes first; of all of them, the newest.
ORDER_OF = {"open": ("due_on", "pk"), "overdue": ("due_on", "pk"), "": ("-issued_at", "-pk")}
LISTS = {"bills": bills_as_csv, "payments": payments_as_csv}


@require_GET
@permission_required("keep_costs")
def bills(request: HttpRequest) -> HttpResponse:
    state = request.GET.get("state", "open")
    state = state if state in STATES else "open"
    page = page_by_key(queries.bills(state), request.GET, order=ORDER_OF[state], length=A_PAGE)
    context = {
        "page": page,
        "accounts": queries.accounts_of(page.rows),
        "state": state,
        "states": STATES,
    }
    return render(request, "jobs/billing/list.html", context)


@require_GET
@permission_required("keep_costs")
def accounts(request: HttpRequest) -> HttpResponse:
    """The period, and each list of it as a file."""
    first, last = queries.last_quarter(timezone.localdate())
    asked = "list" in request.GET
    form = PeriodForm(request.GET if asked else None, initial={"first": first, "last": last})
    name = request.GET.get("list", "")
    if asked and form.is_valid() and name in LISTS:
        first, last = form.cleaned_data["first"], form.cleaned_data["last"]
        # With a mark of its bytes at the beginning: without one, spreadsheets on Windows take UTF-8 for something else.
        answer = HttpResponse("\ufeff" + LISTS[name](first, last), content_type="text/csv; charset=utf-8")
        answer["Content-Disposition"] = f'attachment; filename="{name}-{first}-to-{last}.csv"'
        answer["Cache-Control"] = "private, no-store"
        return answer
    return render(request, "jobs/billing/accounts.html", {"form": form}, status=422 if form.errors else 200)
