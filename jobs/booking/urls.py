"""Addresses of the photographs of a booking. The booking itself stands on the board."""

from django.urls import path

from jobs.booking import views

app_name = "booking"
urlpatterns = [
    path("jobs/photographs/at-booking/<uuid:pk>/", views.photograph, name="photograph"),
    path("jobs/photographs/at-booking/<uuid:pk>/small/", views.photograph_small, name="photograph-small"),
]
