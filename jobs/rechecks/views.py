"""The cars that are due for a check, and the letters that remind of it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods

from garage.papers.press import PaperNotSetError
from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.record.conflicts import STALE
from garage.record.refusals import RuleRefusedError
from garage.record.row_versions import StaleEditError
from jobs.rechecks import actions
from jobs.rechecks.forms import LettersForm, TextForm
from jobs.rechecks.letters import current_text, letters_due, set_letters
from jobs.rechecks.models import ReminderBatch
from jobs.rechecks.queries import rechecks
from jobs.rechecks.wording import PLACEHOLDERS, filled
from timing.sheets.pdf import DocumentLibraryMissing


@require_GET
def page(request: HttpRequest) -> HttpResponse:
    today = timezone.localdate()
    rows = [{"recheck": one, "is_due": one.is_due(today)} for one in rechecks(today)]
    return render(request, "jobs/rechecks/page.html", {"rows": rows})


@never_cache
@require_http_methods(["GET", "POST"])
@permission_required("book_jobs")
def letters(request: HttpRequest) -> HttpResponse:
    """Which letters are due; printing them records each."""
    due, left_out = letters_due(timezone.localdate())
    form = LettersForm(request.POST or None, letters=due)
    if form.is_valid():
        try:
            batch = actions.print_letters(
                jobs=form.cleaned_data["jobs"],
                idempotency_key=form.cleaned_data["idempotency_key"],
                actor=actor_of(request),
            )
        except (RuleRefusedError, DocumentLibraryMissing) as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("rechecks:batch", batch.pk)
    known = _sent_before(request) if form.is_bound else None
    if known:
        return redirect("rechecks:batch", known.pk)
    context = {"form": form, "letters": due, "left_out": left_out, "batches": ReminderBatch.objects.all()[:10]}
    return render(request, "jobs/rechecks/letters.html", context, status=422 if form.is_bound else 200)


def _sent_before(request: HttpRequest) -> ReminderBatch | None:
    """The batch that this very form made: sent again, its letters are due no longer, and so no choice of it either."""
    form = LettersForm(request.POST, letters=[])
    form.is_valid()
    key = form.cleaned_data.get("idempotency_key")
    return ReminderBatch.objects.filter(idempotency_key=key).first() if key else None


@require_GET
@permission_required("book_jobs")
def batch(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(ReminderBatch, pk=pk)
    reminders = found.reminders.select_related("job__vehicle__customer")
    return render(request, "jobs/rechecks/batch.html", {"batch": found, "reminders": reminders})


@never_cache
@require_GET
@permission_required("book_jobs")
def batch_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The letters of a batch, to print and, where the paper jams, to print again."""
    found = get_object_or_404(ReminderBatch, pk=pk)
    reminders = list(found.reminders.select_related("job__vehicle__customer"))
    try:
        made = set_letters(reminders, found.made_at)
    except (PaperNotSetError, DocumentLibraryMissing) as missing:
        messages.error(request, str(missing))
        return redirect("rechecks:batch", pk)
    answer = HttpResponse(made, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="reminders-{pk}.pdf"'
    answer["Cache-Control"] = "private, no-store"
    return answer


@require_http_methods(["GET", "POST"])
@permission_required("manage_workshop")
def text(request: HttpRequest) -> HttpResponse:
    kept = current_text()
    form = TextForm(request.POST or None, initial={"text": kept.text, "row_version": kept.row_version})
    status = 422 if form.is_bound else 200
    if form.is_valid():
        try:
            actions.write_text(actor=actor_of(request), **form.cleaned_data)
        except StaleEditError as stale:
            form.add_error(None, STALE)
            form.rebase_on(stale.current.row_version)  # type: ignore[attr-defined]
            status = 409
        else:
            messages.success(request, "Saved.")
            return redirect("rechecks:letters")
    sample = filled(kept.text, PLACEHOLDERS)
    return render(request, "jobs/rechecks/text.html", {"form": form, "sample": sample, "kept": kept}, status=status)
