"""The calendar feeds: the page where they are made and withdrawn, and the one address that a calendar reads."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from garage.lan.names import is_local
from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.people.queries import get_workshop
from jobs.documents.actions import hash_of
from jobs.week import feed_actions as actions
from jobs.week.feed import feed_bytes
from jobs.week.forms import FeedForm
from jobs.week.models import CalendarFeed
from jobs.week.queries import open_feeds

FEED_IN_SESSION = "new_calendar_feed"


@never_cache
@require_http_methods(["GET", "POST"])
@permission_required("book_jobs")
def feeds(request: HttpRequest) -> HttpResponse:
    """One's own feeds; for the owner, everybody's."""
    is_owner = request.user.has_perm("garage.manage_workshop")
    form = FeedForm(request.POST or None, is_owner=is_owner, initial={"person": request.user.pk})
    if form.is_valid():
        typed = form.cleaned_data
        try:
            token = actions.make_feed(
                person=typed["person"],
                with_names=typed.get("with_names", False),
                idempotency_key=typed["idempotency_key"],
                actor=actor_of(request),
            )
        except actions.FeedRefusedError as refusal:
            form.add_error(None, str(refusal))
        else:
            if token is not None:
                url = request.build_absolute_uri(reverse("week:feed", args=[token]))
                request.session[FEED_IN_SESSION] = url
            return redirect("week:feeds")
    shown = open_feeds() if is_owner else open_feeds().filter(person=request.user.pk)
    context = {
        "form": form,
        "feeds": shown,
        "stays_here": is_local(request.get_host()),
        # Shown once, on the page that follows its making.
        "new_feed": request.session.pop(FEED_IN_SESSION, None),
    }
    return render(request, "jobs/week/feeds.html", context, status=422 if form.is_bound else 200)


@require_POST
@permission_required("book_jobs")
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    feed = get_object_or_404(CalendarFeed, pk=pk)
    actions.withdraw_feed(feed=feed, actor=actor_of(request))
    messages.success(request, "Withdrawn. Calendars that read it get nothing from now on.")
    return redirect("week:feeds")


@login_not_required
@never_cache
@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponse:
    """What a calendar reads: whoever has the address, and nothing that writes."""
    found = open_feeds().filter(token_sha256=hash_of(token)).first()
    if found is None:
        raise Http404
    at = timezone.now()
    answer = HttpResponse(
        feed_bytes(
            found,
            workshop_name=str(get_workshop()),
            at=at,
            today=timezone.localdate(at),
            job_url=lambda job: request.build_absolute_uri(reverse("board:job", args=[job.code])),
        ),
        content_type="text/calendar; charset=utf-8",
    )
    answer["Content-Disposition"] = 'inline; filename="week.ics"'
    answer["Cache-Control"] = "private, no-store"
    answer["Referrer-Policy"] = "no-referrer"
    answer["X-Robots-Tag"] = "noindex, nofollow"
    return answer
