"""The page on which a mail is written: each room above has one for its own papers."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.contrib import messages
from django.db import models
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.text import capfirst

from garage.mail.server import is_set_up
from garage.people.actor import actor_of
from garage.record.refusals import RuleRefusedError
from jobs.job.models import Job
from jobs.job.pages import job_context
from jobs.post import actions
from jobs.post.blanks import filled
from jobs.post.forms import WriteForm
from jobs.post.models import MailKind
from jobs.post.papers import Paper, mail_program_link
from jobs.post.refusals import MailRefusedError
from jobs.post.texts import current_text, values_of


@dataclass(frozen=True, slots=True)
class ToSend:
    """What a room has to send: about what, which papers, what stands for its blanks, and where one came from."""

    kind: MailKind
    subject: models.Model
    papers: Sequence[Paper]
    back_url: str
    chosen: Sequence[Paper] = ()
    values: Mapping[str, str] | None = None


def write_page(request: HttpRequest, job: Job, to_send: ToSend) -> HttpResponse:
    """Ask to whom the papers go and with which words, and put the mail in.

    Raises
    ------
    MailRefusedError
        If the customer was erased.
    """
    customer = job.vehicle.customer
    if customer.forgotten_at:
        raise MailRefusedError("This customer was erased.")
    text, values = current_text(to_send.kind), values_of(job) | dict(to_send.values or {})
    subject_line, words = capfirst(filled(text.subject_line, values))[:150], filled(text.text, values).strip()
    begins = {
        "address": customer.email,
        "subject_line": subject_line,
        "text": words,
        "papers": [paper.stored_as for paper in to_send.chosen or to_send.papers],
    }
    goes_out = is_set_up()
    form = WriteForm(request.POST or None, initial=begins, papers=to_send.papers, knows_address=bool(customer.email))
    if to_send.papers and form.is_valid():
        typed, papers = form.cleaned_data, form.chosen_papers()
        try:
            mail = actions.put_in_mail(
                job=job,
                kind=to_send.kind,
                subject=to_send.subject,
                what=", ".join(paper.label for paper in papers),
                address=typed["address"],
                subject_line=typed["subject_line"],
                text=typed["text"],
                papers=papers,
                keeps_address=typed.get("keep_address", False),
                by_hand=not goes_out and "by_hand" in request.POST,
                idempotency_key=typed["idempotency_key"],
                actor=actor_of(request),
            )
        except RuleRefusedError as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "The mail goes out within a minute." if goes_out else "Saved.")
            return redirect("post:mail", job.code, mail.pk)
    context = job_context(
        request,
        job,
        form=form,
        papers=to_send.papers,
        is_set_up=goes_out,
        back_url=to_send.back_url,
        mail_program=mail_program_link(customer.email, subject_line, words),
        next_action=None,
    )
    return render(request, "jobs/post/write.html", context, status=422 if form.is_bound else 200)
