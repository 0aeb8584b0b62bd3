"""Addresses of the re-checks."""

from django.urls import path

from jobs.rechecks import views

app_name = "rechecks"
urlpatterns = [
    path("rechecks/", views.page, name="page"),
]
