"""Signing in and out, setting up, who is at the bench, and the people of the workshop."""

from dataclasses import replace
from typing import Any
from urllib.parse import quote

from django.contrib import messages
from django.contrib.auth import logout, update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.db import IntegrityError
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render, resolve_url
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from garage.people import actions, set_up, signing_in
from garage.people import pin as bench
from garage.people import sign_ins as found
from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.people.forms import (
    AccountForm,
    FirstPinForm,
    NewPasswordForm,
    NewPersonForm,
    PersonForm,
    PinForm,
    SetUpForm,
    SignInForm,
    SwitchForm,
    WorkshopForm,
)
from garage.people.fresh_proof import fresh_proof_required, is_fresh, to_the_proof
from garage.people.models import Staff, Workshop
from garage.people.open_sessions import key_of, signed_in_now
from garage.people.queries import people_without_pin
from garage.people.second_step import wait_for_it
from garage.people.ways import way_in, way_on
from garage.record.conflicts import standing
from garage.record.queries import changes_of
from garage.record.row_versions import StaleEditError
from garage.second_factor.queries import has_second_factor


@login_not_required
@sensitive_post_parameters("password")
@never_cache
@require_http_methods(["GET", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    if not set_up.is_set_up():
        return redirect("people:set-up")
    form = SignInForm(request, data=request.POST or None)
    if form.is_valid():
        person = form.get_user()
        if has_second_factor(person):
            wait_for_it(request, person)
            return redirect(f"{resolve_url('people:second-step')}?next={quote(way_on(request))}")
        signing_in.begin(request, person)
        return redirect(way_in(request, person))
    return render(
        request,
        "garage/people/sign_in.html",
        {"form": form, "next": way_on(request)},
        status=422 if form.is_bound else 200,
    )


@login_not_required
@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    answer = redirect("people:sign-in")
    # Pages a tablet kept for working without a network are for nobody's eyes after this.
    answer["Clear-Site-Data"] = '"cache"'
    return answer


@login_not_required
@sensitive_post_parameters("password", "password_again", "code")
@never_cache
@require_http_methods(["GET", "POST"])
def first_page(request: HttpRequest) -> HttpResponse:
    """The set-up page: works once, with the code on the console, and never again."""
    if set_up.is_set_up():
        return redirect("people:sign-in")
    set_up.one_time_code()
    form = SetUpForm(request.POST or None)
    if form.is_valid():
        typed = form.cleaned_data
        try:
            owner = actions.set_up_workshop(
                workshop_name=typed["workshop_name"],
                owner_name=typed["owner_name"],
                username=typed["username"],
                password=typed["password"],
                at=timezone.now(),
            )
        except actions.AlreadySetUpError:
            return redirect("people:sign-in")
        signing_in.begin(request, owner)
        messages.success(request, "Workshop set up. Check its data here, then book a car under Today.")
        return redirect("people:workshop")
    return render(request, "garage/people/set_up.html", {"form": form}, status=422 if form.is_bound else 200)


@sensitive_post_parameters("pin")
@never_cache
@require_http_methods(["GET", "POST"])
def switch(request: HttpRequest) -> HttpResponse:
    """Another person takes over this tablet with their bench PIN."""
    form = SwitchForm(request.POST or None)
    if form.is_valid():
        person = form.cleaned_data["person"]
        try:
            bench.check_pin(person, form.cleaned_data["pin"], at=timezone.now(), typed_by=actor_of(request))
        except bench.PinRefusedError as refusal:
            form.add_error("pin", str(refusal))
        else:
            signing_in.begin_by_pin(request, person)
            messages.success(request, f"Signed in: {person}.")
            return redirect(way_on(request))
    return render(
        request,
        "garage/people/switch.html",
        {
            "form": form,
            "next": way_on(request),
            "without_pin": people_without_pin().exists(),
            "first_pin_url": f"{resolve_url('people:first-pin')}?next={quote(request.get_full_path())}",
        },
        status=422 if form.is_bound else 200,
    )


@sensitive_post_parameters("password", "pin", "pin_again")
@never_cache
@require_http_methods(["GET", "POST"])
def first_pin(request: HttpRequest) -> HttpResponse:
    """Whoever is asked for a PIN and has none sets one where they stand; whoever is signed in stays so."""
    form = FirstPinForm(request.POST or None, request=request)
    if form.is_valid():
        person = form.cleaned_data["person"]
        actions.set_pin(person=person, pin=form.cleaned_data["pin"], actor=replace(actor_of(request), person=person))
        messages.success(request, f"PIN set for {person}. Use it here from now on.")
        return redirect(way_on(request))
    return render(
        request,
        "garage/people/first_pin.html",
        {"form": form, "next": way_on(request)},
        status=422 if form.is_bound else 200,
    )


@require_POST
@permission_required("record_readings")
def alone_today(request: HttpRequest) -> HttpResponse:
    """Whoever is in the workshop by themselves says so, for this day."""
    actions.say_alone_today(actor=actor_of(request))
    return redirect(way_on(request))


def _account(request: HttpRequest, status: int = 200, **refused: Form) -> HttpResponse:
    me = _me(request)
    forms = {
        "form": AccountForm(initial={"vacuum_unit": me.vacuum_unit}),
        "password_form": NewPasswordForm(request=request, prefix="new"),
        "pin_form": PinForm(request=request),
    }
    context = {"me": me, "has_second_factor": has_second_factor(me), "proof_is_missing": _proof_is_missing(request)}
    return render(request, "garage/people/account.html", context | forms | refused, status=status)


@require_http_methods(["GET", "POST"])
def account(request: HttpRequest) -> HttpResponse:
    if request.method == "GET":
        return _account(request)
    form = AccountForm(request.POST)
    if not form.is_valid():
        return _account(request, 422, form=form)
    actions.set_vacuum_unit(person=_me(request), unit=form.cleaned_data["vacuum_unit"], actor=actor_of(request))
    messages.success(request, "Saved.")
    return redirect("people:account")


@sensitive_post_parameters("new-password", "new-new_password", "new-new_password_again")
@require_POST
def new_password(request: HttpRequest) -> HttpResponse:
    if _proof_is_missing(request):
        return to_the_proof(request)
    form = NewPasswordForm(request.POST, request=request, prefix="new")
    if not form.is_valid():
        return _account(request, 422, password_form=form)
    me = _me(request)
    actions.set_password(
        person=me,
        password=form.cleaned_data["new_password"],
        session_key=key_of(request),
        actor=actor_of(request),
    )
    update_session_auth_hash(request, me)
    messages.success(request, "Password changed. Other devices will ask for it.")
    return redirect("people:account")


@sensitive_post_parameters("password", "pin", "pin_again")
@require_POST
def new_pin(request: HttpRequest) -> HttpResponse:
    if _proof_is_missing(request):
        return to_the_proof(request)
    form = PinForm(request.POST, request=request)
    if not form.is_valid():
        return _account(request, 422, pin_form=form)
    actions.set_pin(person=_me(request), pin=form.cleaned_data["pin"], actor=actor_of(request))
    messages.success(request, "PIN set.")
    return redirect("people:account")


def _proof_is_missing(request: HttpRequest) -> bool:
    """The form asks for the password itself; who has a second factor shows that as well."""
    return not is_fresh(request) and has_second_factor(_me(request))


def _me(request: HttpRequest) -> Staff:
    return Staff.objects.get(pk=request.user.pk or 0)


@require_http_methods(["GET", "POST"])
@permission_required("manage_workshop")
def workshop(request: HttpRequest) -> HttpResponse:
    here = Workshop.objects.get()
    # The form writes what was typed into an instance of its own, so that `here` shows what stands.
    form = WorkshopForm(
        request.POST or None, instance=Workshop.objects.get(), initial={"row_version": here.row_version}
    )
    context: dict[str, Any] = {"form": form, "people": Staff.objects.prefetch_related("groups")}
    context["changes"] = changes_of(here)
    status = 422 if form.is_bound else 200
    if form.is_valid():
        values = {name: form.cleaned_data[name] for name in form.Meta.fields}
        try:
            actions.change_workshop(
                workshop=here, row_version=form.cleaned_data["row_version"], values=values, actor=actor_of(request)
            )
        except StaleEditError:
            form.refuse_as_stale(here.row_version)
            context["standing"], status = standing(here, form, form.Meta.fields), 409
        else:
            messages.success(request, "Saved.")
            return redirect("people:workshop")
    return render(request, "garage/people/workshop.html", context, status=status)


@require_GET
@permission_required("manage_workshop")
def sign_ins(request: HttpRequest) -> HttpResponse:
    context = {
        "sign_ins": found.latest_sign_ins(),
        "failures": found.latest_failures(),
        "changes": found.latest_changes_of_people(),
    }
    return render(request, "garage/people/sign_ins.html", context)


@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
@permission_required("manage_workshop")
@fresh_proof_required
def new_person(request: HttpRequest) -> HttpResponse:
    form = NewPersonForm(request.POST or None)
    if form.is_valid():
        try:
            person = actions.add_person(actor=actor_of(request), **form.cleaned_data)
        except IntegrityError:  # sent twice, or two owners at once
            form.add_error("username", "This user name is taken.")
        else:
            messages.success(request, f"{person} can sign in.")
            return redirect("people:workshop")
    return render(
        request,
        "garage/people/person.html",
        {"form": form, "title": "Add person", "action": "Add person"},
        status=422 if form.is_bound else 200,
    )


@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
@permission_required("manage_workshop")
@fresh_proof_required
def person(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(Staff, pk=pk)
    initial = {
        "name": person.name,
        "role": actions.role_of(person),
        "is_active": person.is_active,
        "row_version": person.row_version,
    }
    form = PersonForm(request.POST or None, person=person, initial=initial)
    context: dict[str, Any] = {"form": form, "title": str(person), "action": "Save"}
    context |= {"changes": changes_of(person), "person": person, "sessions": signed_in_now(person)}
    context["has_second_factor"] = has_second_factor(person)
    status = 422 if form.is_bound else 200
    if form.is_valid():
        try:
            mine = key_of(request) if person.pk == request.user.pk else ""
            actions.change_person(person=person, actor=actor_of(request), session_key=mine, **form.cleaned_data)
        except actions.StaffRuleError as refusal:
            form.add_error(None, str(refusal))
        except StaleEditError:
            form.refuse_as_stale(person.row_version)
            context["standing"], status = _person_stands(person), 409
        else:
            if person.pk == request.user.pk:
                update_session_auth_hash(request, person)
            messages.success(request, "Saved.")
            return redirect("people:workshop")
    return render(request, "garage/people/person.html", context, status=status)


def _person_stands(person: Staff) -> list[dict[str, str]]:
    return [
        {"label": "Full name", "value": person.name},
        {"label": "Role", "value": actions.role_of(person) or "none"},
        {"label": "May sign in", "value": "yes" if person.is_active else "no"},
    ]
