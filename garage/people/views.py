"""Signing in and out, setting up, who is at the bench, and the people of the workshop."""

from django.contrib import messages
from django.contrib.auth import login, logout, update_session_auth_hash
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render, resolve_url
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from garage.people import actions, bench, set_up
from garage.people.access import may
from garage.people.forms import AccountForm, PinForm, SetUpForm, SignInForm, StaffForm, SwitchForm, WorkshopForm
from garage.people.models import Role, Staff, Workshop

BACKEND = "django.contrib.auth.backends.ModelBackend"


def _way_on(request: HttpRequest) -> str:
    """Where the person wanted to go, if that is on this site; else the board."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    safe = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if safe else resolve_url("card:board")


@sensitive_post_parameters("password")
@never_cache
@require_http_methods(["GET", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    if not set_up.is_set_up():
        return redirect("people:set-up")
    form = SignInForm(request, data=request.POST or None)
    if form.is_valid():
        login(request, form.get_user())
        return redirect(_way_on(request))
    return render(
        request,
        "garage/people/sign_in.html",
        {"form": form, "next": _way_on(request)},
        status=422 if form.is_bound else 200,
    )


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    answer = redirect("people:sign-in")
    # Pages a tablet kept for working without a network are for nobody's eyes after this.
    answer["Clear-Site-Data"] = '"cache"'
    return answer


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
        login(request, owner, backend=BACKEND)
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
            bench.check_pin(person, form.cleaned_data["pin"], at=timezone.now())
        except bench.PinRefusedError as refusal:
            form.add_error("pin", str(refusal))
        else:
            login(request, person, backend=BACKEND)
            request.session["by_pin"] = True
            messages.success(request, f"{person} is at the bench.")
            return redirect(_way_on(request))
    return render(
        request,
        "garage/people/switch.html",
        {"form": form, "next": _way_on(request)},
        status=422 if form.is_bound else 200,
    )


@require_http_methods(["GET", "POST"])
def account(request: HttpRequest) -> HttpResponse:
    form = AccountForm(request.POST or None, instance=_me(request))
    if form.is_valid():
        form.save()
        messages.success(request, "Stored.")
        return redirect("people:account")
    me = _me(request)
    return render(
        request,
        "garage/people/account.html",
        {"form": form, "pin_form": PinForm(person=me), "me": me},
        status=422 if form.is_bound else 200,
    )


@sensitive_post_parameters("password", "pin", "pin_again")
@require_POST
def new_pin(request: HttpRequest) -> HttpResponse:
    me = _me(request)
    form = PinForm(request.POST, person=me)
    if form.is_valid():
        bench.set_pin(me, form.cleaned_data["pin"])
        messages.success(request, "Bench PIN set.")
        return redirect("people:account")
    return render(
        request,
        "garage/people/account.html",
        {"form": AccountForm(instance=me), "pin_form": form, "me": me},
        status=422,
    )


def _me(request: HttpRequest) -> Staff:
    return Staff.objects.get(pk=request.user.pk or 0)


@require_http_methods(["GET", "POST"])
@may("manage_workshop")
def workshop(request: HttpRequest) -> HttpResponse:
    here = Workshop.objects.get()
    form = WorkshopForm(request.POST or None, instance=here)
    if form.is_valid():
        actions.change_workshop(workshop=here, values=form.cleaned_data)
        messages.success(request, "Workshop stored.")
        return redirect("people:workshop")
    return render(
        request,
        "garage/people/workshop.html",
        {"form": form, "people": Staff.objects.prefetch_related("groups")},
        status=422 if form.is_bound else 200,
    )


@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
@may("manage_workshop")
def new_person(request: HttpRequest) -> HttpResponse:
    form = StaffForm(request.POST or None, initial={"role": Role.MECHANIC})
    if form.is_valid():
        try:
            person = actions.take_in(**form.cleaned_data)
        except IntegrityError:  # sent twice, or two owners at once
            form.add_error("username", "Somebody has this user name already.")
        else:
            messages.success(request, f"{person} can sign in.")
            return redirect("people:workshop")
    return render(
        request,
        "garage/people/person.html",
        {"form": form, "title": "Take a person in", "deed": "Take this person in"},
        status=422 if form.is_bound else 200,
    )


@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
@may("manage_workshop")
def person(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(Staff, pk=pk)
    role = person.groups.first()
    initial = {"name": person.name, "role": role.name if role else "", "is_active": person.is_active}
    form = StaffForm(request.POST or None, person=person, initial=initial)
    if form.is_valid():
        try:
            actions.change_person(person=person, **form.cleaned_data)
        except actions.StaffRuleError as refusal:
            form.add_error(None, str(refusal))
        else:
            if person.pk == request.user.pk:
                update_session_auth_hash(request, person)
            messages.success(request, "Stored.")
            return redirect("people:workshop")
    return render(
        request,
        "garage/people/person.html",
        {"form": form, "title": str(person), "deed": "Store this person"},
        status=422 if form.is_bound else 200,
    )
