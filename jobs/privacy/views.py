"""A customer who asks what is held about them, and one who asks to be forgotten."""

import tempfile

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from garage.customers.models import Customer
from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.people.queries import get_workshop
from jobs.privacy import actions
from jobs.privacy.copy import write_copy
from jobs.privacy.files import remove_files
from jobs.privacy.forms import ForgetForm
from jobs.privacy.held import papers_of, texts_of
from jobs.privacy.kept_by_law import kept_of
from jobs.privacy.models import Erasure

SMALL = 8 * 1024 * 1024


@require_POST
@permission_required("manage_workshop")
def copy(request: HttpRequest, pk: int) -> HttpResponse:
    """The archive for the customer, made now and kept nowhere."""
    customer = get_object_or_404(Customer, pk=pk, forgotten_at=None)
    archive = tempfile.SpooledTemporaryFile(SMALL)  # noqa: SIM115 - closed by the answer
    write_copy(customer, archive)
    archive.seek(0)
    actions.note_copy(customer=customer, actor=actor_of(request))
    answer = FileResponse(
        archive, as_attachment=True, filename=f"held-about-customer-{pk}.zip", content_type="application/zip"
    )
    answer["Cache-Control"] = "private, no-store"
    return answer  # type: ignore[return-value]  # Django streams it, as any other answer


@sensitive_post_parameters("password")
@never_cache
@require_http_methods(["GET", "POST"])
@permission_required("manage_workshop")
def forget(request: HttpRequest, pk: int) -> HttpResponse:
    customer = get_object_or_404(Customer, pk=pk, forgotten_at=None)
    form = ForgetForm(request.POST or None, request=request, customer=customer)
    if form.is_valid():
        typed = form.cleaned_data
        erasure = actions.forget(
            customer=customer,
            reason=typed["reason"],
            photographs=typed["photographs"],
            plates=typed["plates"],
            words=typed["words"],
            idempotency_key=typed["idempotency_key"],
            actor=actor_of(request),
        )
        messages.success(request, f"Customer {erasure.customer_id} is erased.")
        return redirect("privacy:erasures")
    context = {
        "form": form,
        "customer": customer,
        "papers": papers_of(customer),
        "texts": texts_of(customer),
        "kept": kept_of(customer, get_workshop().keep_bills_years),
        "years": get_workshop().keep_bills_years,
    }
    return render(request, "jobs/privacy/forget.html", context, status=422 if form.is_bound else 200)


@require_GET
@permission_required("manage_workshop")
def erasures(request: HttpRequest) -> HttpResponse:
    today = timezone.localdate().isoformat()
    found = list(Erasure.objects.select_related("by"))
    due = sum(one["until"] < today for erasure in found for one in erasure.kept)
    return render(request, "jobs/privacy/erasures.html", {"erasures": found, "due": due})


@require_POST
@permission_required("manage_workshop")
def erase_due(request: HttpRequest) -> HttpResponse:
    """Erase what was kept by law and whose day has passed; files of an erasing that was cut off go as well."""
    remove_files()
    count = actions.erase_what_is_due(today=timezone.localdate(), actor=actor_of(request))
    messages.success(request, f"Erased: {count}.")
    return redirect("privacy:erasures")
