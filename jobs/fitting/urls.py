"""Addresses of the fitting room."""

from django.urls import path

from jobs.fitting import views

app_name = "fitting"
urlpatterns = [
    path("jobs/<str:code>/fitting/", views.page, name="page"),
    path("jobs/<str:code>/fitting/rotor/", views.rotor, name="rotor"),
]
