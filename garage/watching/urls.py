"""The addresses of those who watch: no page of the workshop."""

from django.urls import path

from garage.watching import health, views

urlpatterns = [
    path("health/", health.health, name="health"),
    path("health/live/", health.live, name="health-live"),
    path("health/ready/", health.ready, name="health-ready"),
    path("metrics/", views.metrics, name="metrics"),
]
