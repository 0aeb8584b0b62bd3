"""The page of what is done in the background, for the owner."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from garage.background import actions, queries
from garage.people.access import permission_required
from garage.people.actor import actor_of


@require_GET
@permission_required("manage_workshop")
def page(request: HttpRequest) -> HttpResponse:
    context = {"work": queries.work(), "somebody_works": queries.somebody_works()}
    return render(request, "garage/background/page.html", context)


@require_POST
@permission_required("manage_workshop")
def try_again(request: HttpRequest, task_id: UUID) -> HttpResponse:
    actions.try_again(task_id=task_id, actor=actor_of(request))
    return redirect("background:page")
