"""The owner's page of the mail server, and its test."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from garage.mail import actions
from garage.mail.forms import MailForm, TrialForm
from garage.mail.sending import Outgoing, hand_over
from garage.mail.server import answers_go_to, kept_settings, server_of
from garage.mail.troubles import MailNotTakenError
from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.people.fresh_proof import fresh_proof_required
from garage.people.models import Staff
from garage.people.queries import get_workshop
from garage.record.conflicts import standing
from garage.record.row_versions import StaleEditError

# Somebody waits before the page.
ANSWER_S, ALL_S = 10.0, 25.0


@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
@permission_required("manage_workshop")
@fresh_proof_required
def settings(request: HttpRequest) -> HttpResponse:
    kept = kept_settings()
    # The form writes what was typed into an instance of its own, so that `kept` shows what stands.
    form = MailForm(
        request.POST or None, instance=kept_settings(), kept=kept, initial={"row_version": kept.row_version}
    )
    if not form.is_valid():
        return _page(request, form, status=422 if form.is_bound else 200)
    typed = form.cleaned_data
    try:
        actions.change_mail(
            values=form.values(),
            password=typed["password"],
            row_version=typed["row_version"],
            actor=actor_of(request),
        )
    except StaleEditError:
        now = kept_settings()
        form.refuse_as_stale(now.row_version)
        return _page(request, form, standing=standing(now, form, form.Meta.fields), status=409)
    messages.success(request, "Saved.")
    return redirect("mail:settings")


@require_POST
@permission_required("manage_workshop")
@fresh_proof_required
def send_test(request: HttpRequest) -> HttpResponse:
    """A short mail through the server that is saved, and in words what came of it."""
    trial = TrialForm(request.POST)
    kept = kept_settings()
    form = MailForm(instance=kept, kept=kept, initial={"row_version": kept.row_version})
    if not trial.is_valid():
        return _page(request, form, trial=trial, status=422)
    workshop = get_workshop().name
    mail = Outgoing(
        message_id=f"<{uuid.uuid4()}@{kept.sender_address.rpartition('@')[2]}>",
        to=trial.cleaned_data["to"],
        subject="Test mail",
        text=f"This is a test mail from {workshop}. Mail can be sent.\n",
        reply_to=answers_go_to(kept),
    )
    try:
        if not kept.server or not kept.sender_address:
            raise MailNotTakenError("Save server and sender first.")
        answer = hand_over(mail, server_of(kept), answer_s=ANSWER_S, all_s=ALL_S)
    except MailNotTakenError as trouble:
        return _page(request, form, trial=trial, trouble=trouble, status=422)
    return _page(request, form, trial=trial, sent_to=mail.to, answer=answer)


def _page(
    request: HttpRequest, form: MailForm, *, trial: TrialForm | None = None, status: int = 200, **more: object
) -> HttpResponse:
    kept = kept_settings()
    person = request.user
    usual = (person.email if isinstance(person, Staff) else "") or get_workshop().email or kept.sender_address
    context = {
        "form": form,
        "kept": kept,
        "answers_go_to": answers_go_to(kept) or kept.sender_address,
        "trial": trial or TrialForm(initial={"to": usual}),
        "may_test": bool(kept.server and kept.sender_address),
        **more,
    }
    return render(request, "garage/mail/settings.html", context, status=status)
