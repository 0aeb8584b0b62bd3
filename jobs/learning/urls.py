"""Addresses of what the workshop has learned."""

from django.urls import path

from jobs.learning import views

app_name = "learning"
urlpatterns = [
    path("learned/", views.page, name="page"),
    path("learned/cars/<slug:key>/", views.cars, name="cars"),
]
