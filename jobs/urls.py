"""The rooms of a job, a line a room."""

from django.urls import include, path

urlpatterns = [
    path("", include("jobs.board.urls")),
    path("", include("jobs.booking.urls")),
    path("", include("jobs.finding.urls")),
    path("", include("jobs.inspection.urls")),
    path("", include("jobs.fitting.urls")),
    path("", include("jobs.checklists.urls")),
    path("", include("jobs.strobe.urls")),
    path("", include("jobs.maps.urls")),
    path("", include("jobs.bench.urls")),
    path("", include("jobs.roadtest.urls")),
    path("", include("jobs.proposals.urls")),
    path("", include("jobs.roadlogs.urls")),
    path("", include("jobs.post.urls")),
    path("", include("jobs.documents.urls")),
    path("", include("jobs.handover.urls")),
    path("", include("jobs.costs.urls")),
    path("", include("jobs.learning.urls")),
    path("", include("jobs.quotes.urls")),
    path("", include("jobs.billing.urls")),
    path("", include("jobs.week.urls")),
    path("", include("jobs.rechecks.urls")),
    path("", include("jobs.privacy.urls")),
]
