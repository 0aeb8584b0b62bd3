"""The second step of a sign-in, the fresh proof, and one's own second factor."""

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render, resolve_url
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from garage.people import second_step as step
from garage.people import signing_in
from garage.people.access import opens_while_owed, permission_required
from garage.people.actions import require_second_factor
from garage.people.actor import actor_of
from garage.people.fresh_proof import fresh_proof_required, note_proof
from garage.people.models import Staff, Workshop
from garage.people.open_sessions import forget_sessions, key_of
from garage.people.second_factor_forms import (
    PasskeyForm,
    ProofForm,
    ReasonForm,
    SecondFactorForForm,
    SecondStepForm,
    TimeCodeForm,
)
from garage.people.ways import way_in, way_on
from garage.record.refusals import RuleRefusedError
from garage.second_factor import actions, passkeys, recovery_codes, time_codes
from garage.second_factor.queries import has_second_factor, time_code_of
from garage.second_factor.sealing import SealBrokenError, opened, sealed

NEW_SECRET = "new_time_code"  # noqa: S105 - where in the session it waits, sealed, for its first code


@login_not_required
@sensitive_post_parameters("code", "passkey")
@never_cache
@require_http_methods(["GET", "POST"])
def second_step(request: HttpRequest) -> HttpResponse:
    person = step.who_waits(request)
    if person is None:
        return redirect("people:sign-in")
    form = SecondStepForm(request.POST or None, request=request, person=person)
    if form.is_valid():
        request.session.pop(step.PENDING)
        signing_in.begin(request, person)
        return redirect(way_in(request, person))
    return _asked(request, person, form, title="Sign in: second step", action="Sign in", back="people:sign-in")


@opens_while_owed
@sensitive_post_parameters("password", "code", "passkey")
@require_http_methods(["GET", "POST"])
def prove(request: HttpRequest) -> HttpResponse:
    """Who it is, once more, before something that matters."""
    me = _me(request)
    if me.by_pin:
        return redirect(f"{resolve_url('people:sign-in')}?next={way_on(request)}")
    form = ProofForm(request.POST or None, request=request, person=me)
    if form.is_valid():
        note_proof(request)
        request.session.cycle_key()
        return redirect(way_on(request))
    return _asked(request, me, form, title="Confirm that it is you", action="Confirm", back="board:board")


@sensitive_post_parameters("password", "code", "passkey")
@require_http_methods(["GET", "POST"])
def remove_second_factor(request: HttpRequest) -> HttpResponse:
    """Password and second factor together take it off, however lately they were shown."""
    me = _me(request)
    if not has_second_factor(me):
        return redirect("people:second-factor")
    if step.is_required_of(me):
        messages.info(request, "The workshop requires a second factor. Replace it instead.")
        return redirect("people:second-factor")
    form = ProofForm(request.POST or None, request=request, person=me)
    if form.is_valid():
        actions.remove_second_factor(person=me, actor=actor_of(request))
        messages.success(request, "Second factor removed.")
        return redirect("people:second-factor")
    return _asked(request, me, form, title="Remove second factor", action="Remove", back="people:second-factor")


def _asked(request: HttpRequest, person: Staff, form: Form, *, title: str, action: str, back: str) -> HttpResponse:
    context = {
        "form": form,
        "title": title,
        "action": action,
        "back_url": resolve_url(back),
        "next": way_on(request),
        "passkey_options": step.ask_passkey(request, person),
        "elsewhere": _elsewhere(person, step.site_of(request)),
    }
    status = 422 if form.is_bound else 200
    return render(request, "garage/people/second_step.html", context, status=status)


def _elsewhere(person: Staff, site: passkeys.Site) -> list[str]:
    """Under which other names the person's passkeys would answer, where none does under this one."""
    if passkeys.of_this_name(person, site):
        return []
    return sorted({key.host for key in person.passkeys.all()})


def _page(request: HttpRequest, status: int = 200, **refused: Form) -> HttpResponse:
    me = _me(request)
    site = step.site_of(request)
    time_code = time_code_of(me)
    context: dict[str, Any] = {
        "time_code": time_code,
        "unreadable": time_code is not None and not time_codes.readable(time_code),
        "passkeys": me.passkeys.all(),
        "why_no_passkey": site.why_not,
        "passkey_form": PasskeyForm(),
        "codes_left": len(recovery_codes.left(me)),
        "has_one": has_second_factor(me),
        "required": step.is_required_of(me),
    }
    if not site.why_not:
        workshop = Workshop.objects.get().name
        context["passkey_options"], request.session[step.CHALLENGE] = passkeys.registration(
            me, site=site, workshop=workshop
        )
    return render(request, "garage/people/second_factor.html", context | refused, status=status)


@opens_while_owed
@require_http_methods(["GET"])
@fresh_proof_required
def second_factor(request: HttpRequest) -> HttpResponse:
    return _page(request)


@opens_while_owed
@sensitive_post_parameters("code")
@require_http_methods(["GET", "POST"])
@fresh_proof_required
def time_code(request: HttpRequest) -> HttpResponse:
    """A new secret, shown until its first code has proven that the phone has it."""
    me = _me(request)
    form = TimeCodeForm(request.POST or None)
    try:
        secret = opened(request.session.get(NEW_SECRET, ""), me.pk)
    except SealBrokenError:
        secret = time_codes.new_secret()
        request.session[NEW_SECRET] = sealed(secret, me.pk)
    if form.is_valid():
        try:
            code = "".join(form.cleaned_data["code"].split())
            codes = actions.set_time_code(person=me, secret=secret, code=code, actor=actor_of(request))
        except actions.SecondFactorRuleError as refusal:
            form.add_error("code", str(refusal))
        else:
            del request.session[NEW_SECRET]
            return _in_force(request, me, codes, "Time code set up.")
    context = {
        "form": form,
        "picture": time_codes.picture(secret, person=me, workshop=Workshop.objects.get().name),
        "typed_key": time_codes.typed_key(secret),
    }
    return render(request, "garage/people/time_code.html", context, status=422 if form.is_bound else 200)


@opens_while_owed
@require_POST
@fresh_proof_required
def add_passkey(request: HttpRequest) -> HttpResponse:
    me, form = _me(request), PasskeyForm(request.POST)
    site, challenge = step.site_of(request), request.session.pop(step.CHALLENGE, "")
    if form.is_valid() and not site.why_not:
        try:
            key = passkeys.registered(
                me,
                form.cleaned_data["passkey"],
                challenge=challenge,
                site=site,
                name=form.cleaned_data["name"],
                at=timezone.now(),
            )
        except passkeys.PasskeyRefusedError as refusal:
            form.add_error("passkey", str(refusal))
        else:
            return _in_force(request, me, actions.add_passkey(passkey=key, actor=actor_of(request)), "Passkey added.")
    return _page(request, 422, passkey_form=form)


def _in_force(request: HttpRequest, me: Staff, codes: list[str], words: str) -> HttpResponse:
    """From now on each sign-in asks for it; those that began without it end."""
    forget_sessions(me, but=key_of(request))
    request.session.pop(step.OWED, None)
    if codes:
        return _shown_once(request, codes)
    messages.success(request, words)
    return redirect("people:second-factor")


def _shown_once(request: HttpRequest, codes: list[str]) -> HttpResponse:
    return render(request, "garage/people/recovery_codes.html", {"codes": codes})


@require_POST
@fresh_proof_required
def remove_passkey(request: HttpRequest, pk: int) -> HttpResponse:
    key = get_object_or_404(_me(request).passkeys, pk=pk)
    try:
        actions.remove_passkey(passkey=key, actor=actor_of(request))
    except actions.SecondFactorRuleError as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "Passkey removed.")
    return redirect("people:second-factor")


@require_POST
@fresh_proof_required
def new_recovery_codes(request: HttpRequest) -> HttpResponse:
    me = _me(request)
    if not has_second_factor(me):
        return redirect("people:second-factor")
    return _shown_once(request, actions.make_recovery_codes(person=me, actor=actor_of(request)))


@require_http_methods(["GET", "POST"])
@permission_required("manage_workshop")
@fresh_proof_required
def remove_second_factor_of(request: HttpRequest, pk: int) -> HttpResponse:
    """By another owner, for who lost the phone and the paper."""
    person = get_object_or_404(Staff, pk=pk)
    if person.pk == request.user.pk:
        return redirect("people:remove-second-factor")
    form = ReasonForm(request.POST or None)
    if form.is_valid():
        actions.remove_second_factor(person=person, reason=form.cleaned_data["reason"], actor=actor_of(request))
        messages.success(request, f"Second factor of {person} removed.")
        return redirect("people:person", pk=person.pk)
    context = {
        "form": form,
        "title": f"Remove the second factor of {person}",
        "text": "Make sure that it is them who asks. From then on the password alone signs them in.",
        "action": "Remove second factor",
        "danger": True,
        "back_url": resolve_url("people:person", pk=person.pk),
    }
    return render(request, "confirm.html", context, status=422 if form.is_bound else 200)


@require_http_methods(["GET", "POST"])
@permission_required("manage_workshop")
@fresh_proof_required
def second_factor_rule(request: HttpRequest) -> HttpResponse:
    """Of whom the workshop requires a second factor."""
    here = Workshop.objects.get()
    form = SecondFactorForForm(request.POST or None, initial={"second_factor_for": here.second_factor_for})
    if form.is_valid():
        try:
            require_second_factor(whom=form.cleaned_data["second_factor_for"], actor=actor_of(request))
        except RuleRefusedError as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "Saved.")
            return redirect("people:workshop")
    context = {
        "form": form,
        "title": "Second factor",
        "text": "Who has none yet sets one up at the next sign-in. A PIN works as before: it opens no owner's page.",
        "action": "Save",
        "back_url": resolve_url("people:workshop"),
    }
    return render(request, "confirm.html", context, status=422 if form.is_bound else 200)


def _me(request: HttpRequest) -> Staff:
    assert isinstance(request.user, Staff)  # noqa: S101 - the middleware has seen to it
    return request.user
