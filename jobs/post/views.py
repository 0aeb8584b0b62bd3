"""One mail with everything that came of it, and the owner's texts."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from garage.background.queries import somebody_works
from garage.files.issued import read_stored
from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.people.queries import get_workshop
from garage.record.row_versions import StaleEditError
from jobs.job.pages import job_context, job_for
from jobs.post import actions, queries
from jobs.post.blanks import filled
from jobs.post.forms import TextForm
from jobs.post.models import Mail, MailKind
from jobs.post.papers import mail_program_link
from jobs.post.texts import FIRST_TEXTS, current_text


def _mail_for(request: HttpRequest, code: str, pk: int) -> Mail:
    """The mail, or a 404; about money, for whoever keeps it."""
    mail = get_object_or_404(job_for(code).mails.select_related("put_in_by", "job"), pk=pk)
    if mail.kind not in queries.kinds_for(request.user):
        raise PermissionDenied
    return mail


@require_GET
@permission_required("book_jobs")
def failed(request: HttpRequest) -> HttpResponse:
    """Every mail that failed and that nobody has dealt with, a page at a time."""
    page, standings = queries.page_of_failed(queries.kinds_for(request.user), request.GET)
    return render(request, "jobs/post/failed.html", {"page": page, "failed": standings})


@require_GET
@permission_required("book_jobs")
def mail(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """What was sent to whom, and every try."""
    found = _mail_for(request, code, pk)
    context = job_context(
        request,
        job_for(code),
        mail=found,
        standing=queries.standing_of(found),
        attachments=found.attachments.all(),
        mail_program=mail_program_link(found.address, found.subject_line, found.text),
        write_url=_write_url(found),
        somebody_works=somebody_works(),
        next_action=None,
    )
    return render(request, "jobs/post/mail.html", context)


def _write_url(mail: Mail) -> str:
    """Where another mail of the same is written; nowhere for a reminder, which has its own page."""
    if mail.kind == MailKind.PAPERS:
        return reverse("documents:send", args=[mail.job.code])
    if mail.kind == MailKind.QUOTE:
        return reverse("quotes:send", args=[mail.job.code, mail.subject_id])
    return reverse("billing:send", args=[mail.subject_id]) if mail.kind == MailKind.BILL else ""


@require_GET
@permission_required("book_jobs")
def attachment(request: HttpRequest, code: str, pk: int, attachment: int) -> HttpResponse:
    """A paper of the mail, to be sent by hand."""
    found = get_object_or_404(_mail_for(request, code, pk).attachments, pk=attachment)
    made = read_stored(found.stored_as, found.sha256, found.file_name)
    answer = HttpResponse(made, content_type="application/pdf")
    answer["Content-Disposition"] = f'attachment; filename="{found.file_name}"'
    answer["Cache-Control"] = "private, no-store"
    return answer


@require_POST
@permission_required("book_jobs")
def try_again(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    actions.try_again(mail=_mail_for(request, code, pk), actor=actor_of(request))
    return redirect("post:mail", code, pk)


@require_POST
@permission_required("book_jobs")
def sent_by_hand(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    actions.sent_by_hand(mail=_mail_for(request, code, pk), actor=actor_of(request))
    return redirect("post:mail", code, pk)


@require_POST
@permission_required("book_jobs")
def stop(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    actions.stop(mail=_mail_for(request, code, pk), actor=actor_of(request))
    return redirect("post:mail", code, pk)


@require_GET
@permission_required("manage_workshop")
def texts(request: HttpRequest) -> HttpResponse:
    """The texts with which mails begin."""
    return render(request, "jobs/post/texts.html", {"texts": [current_text(kind) for kind in FIRST_TEXTS]})


@require_http_methods(["GET", "POST"])
@permission_required("manage_workshop")
def text(request: HttpRequest, kind: str) -> HttpResponse:
    if kind not in FIRST_TEXTS:
        raise Http404
    of_kind = MailKind(kind)
    kept = current_text(of_kind)
    begins = {"subject_line": kept.subject_line, "text": kept.text, "row_version": kept.row_version}
    form = TextForm(request.POST or None, initial=begins, kind=of_kind)
    status = 422 if form.is_bound else 200
    if form.is_valid():
        try:
            actions.write_text(kind=of_kind, actor=actor_of(request), **form.cleaned_data)
        except StaleEditError as stale:
            form.refuse_as_stale(stale.current.row_version)  # type: ignore[attr-defined]
            status = 409
        else:
            messages.success(request, "Saved.")
            return redirect("post:texts")
    sample = FIRST_TEXTS[of_kind].blanks | {"workshop": get_workshop().name}
    context = {
        "form": form,
        "kept": kept,
        "sample_subject": filled(kept.subject_line, sample),
        "sample": filled(kept.text, sample),
    }
    return render(request, "jobs/post/text.html", context, status=status)
