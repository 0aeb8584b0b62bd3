"""The list of one's own sign-ins, and ending them."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_POST

from garage.people import session_actions
from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.people.fresh_proof import fresh_proof_required
from garage.people.models import Staff
from garage.people.open_sessions import key_of, lasting, signed_in_now


@require_GET
def sessions(request: HttpRequest) -> HttpResponse:
    me = get_object_or_404(Staff, pk=request.user.pk)
    found = signed_in_now(me, here=key_of(request))
    context = {"sessions": found, "others": [one for one in found if not one.is_this_one]}
    return render(request, "garage/people/sessions.html", context)


@require_POST
@fresh_proof_required
def end_session(request: HttpRequest, name: UUID) -> HttpResponse:
    me = get_object_or_404(Staff, pk=request.user.pk)
    session = lasting(me).filter(name=name).first()
    # It may have ended by itself while the list was open.
    if session is not None:
        session_actions.end_session(session=session, actor=actor_of(request))
    messages.success(request, "Signed out there.")
    return redirect("people:sessions")


@require_POST
@fresh_proof_required
def end_other_sessions(request: HttpRequest) -> HttpResponse:
    me = get_object_or_404(Staff, pk=request.user.pk)
    session_actions.end_sessions(person=me, but=key_of(request), actor=actor_of(request))
    messages.success(request, "Signed out everywhere else.")
    return redirect("people:sessions")


@require_POST
@permission_required("manage_workshop")
@fresh_proof_required
def end_sessions_of(request: HttpRequest, pk: int) -> HttpResponse:
    """Of a person who left, or whose phone was lost."""
    person = get_object_or_404(Staff, pk=pk)
    but = key_of(request) if person.pk == request.user.pk else ""
    session_actions.end_sessions(person=person, but=but, actor=actor_of(request))
    messages.success(request, f"{person} is signed out everywhere.")
    return redirect("people:person", pk=person.pk)
