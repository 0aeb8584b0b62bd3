"""The cars that are due for a check, and the letters and mails that remind of it."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods

from garage.mail.server import is_set_up
from garage.papers.press import PaperNotSetError
from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.record.refusals import RuleRefusedError
from garage.record.row_versions import StaleEditError
from jobs.rechecks import actions
from jobs.rechecks.forms import RemindForm, TextForm
from jobs.rechecks.letters import current_text, due_reminders, set_letters
from jobs.rechecks.models import Channel, ReminderBatch
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
    """Which reminders are due; printing letters or sending mails records each."""
    due, left_out = due_reminders(timezone.localdate())
    sent_as = Channel.MAIL if request.POST.get("channel") == Channel.MAIL else Channel.LETTER
    forms = {
        channel: RemindForm(request.POST if request.POST and channel == sent_as else None, due=due, channel=channel)
        for channel in (Channel.MAIL, Channel.LETTER)
    }
    form = forms[sent_as]
    if form.is_valid():
        act = actions.send_mails if sent_as == Channel.MAIL else actions.print_letters
        typed = form.cleaned_data
        try:
            batch = act(jobs=typed["jobs"], idempotency_key=typed["idempotency_key"], actor=actor_of(request))
        except (RuleRefusedError, DocumentLibraryMissing) as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("rechecks:batch", batch.pk)
    known = _sent_before(request) if form.is_bound else None
    if known:
        return redirect("rechecks:batch", known.pk)
    context = {
        "ways": [
            {"channel": channel, "form": forms[channel], "due": [one for one in due if channel in one.ways]}
            for channel in forms
        ],
        "any_due": bool(due),
        "form": form,
        "left_out": left_out,
        "batches": ReminderBatch.objects.all()[:10],
        "mail_is_set_up": is_set_up(),
    }
    return render(request, "jobs/rechecks/letters.html", context, status=422 if form.is_bound else 200)


def _sent_before(request: HttpRequest) -> ReminderBatch | None:
    """The batch that this very form made of the same cars: sent again, they are due no longer, and so no choice."""
    form = RemindForm(request.POST, due=[], channel=Channel.LETTER)
    form.is_valid()
    key = form.cleaned_data.get("idempotency_key")
    known = ReminderBatch.objects.filter(idempotency_key=key).first() if key else None
    sent = set(request.POST.getlist("jobs"))
    return known if known and {str(job) for job in known.job_keys} == sent else None


@require_GET
@permission_required("book_jobs")
def batch(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(ReminderBatch, pk=pk)
    reminders = list(found.reminders.select_related("job__vehicle__customer"))
    are_mails = any(one.channel == Channel.MAIL for one in reminders)
    context = {"batch": found, "reminders": reminders, "are_mails": are_mails}
    return render(request, "jobs/rechecks/batch.html", context)


@never_cache
@require_GET
@permission_required("book_jobs")
def batch_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The letters of a batch, to print and, where the paper jams, to print again."""
    found = get_object_or_404(ReminderBatch, pk=pk)
    reminders = list(found.reminders.filter(channel=Channel.LETTER).select_related("job__vehicle__customer"))
    if not reminders:
        raise Http404
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
            form.refuse_as_stale(stale.current.row_version)  # type: ignore[attr-defined]
            status = 409
        else:
            messages.success(request, "Saved.")
            return redirect("rechecks:letters")
    sample = filled(kept.text, PLACEHOLDERS)
    return render(request, "jobs/rechecks/text.html", {"form": form, "sample": sample, "kept": kept}, status=status)
