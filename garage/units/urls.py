"""Addresses of the unit types and of the units themselves, under /units/."""

from django.urls import path

from garage.units import views

app_name = "units"
urlpatterns = [
    path("", views.page, name="list"),
    path("types/new/", views.new_type, name="new-type"),
    path("types/<int:pk>/", views.unit_type, name="type"),
    path("types/<int:pk>/revise/", views.revise, name="revise"),
    path("types/<int:pk>/retire/", views.retire, name="retire"),
    path("new/", views.new_fitted, name="new-fitted"),
    path("<int:pk>/", views.fitted, name="fitted"),
    path("<int:pk>/take-out/", views.take_out, name="take-out"),
    path("<int:pk>/back-on-shelf/", views.back_on_shelf, name="back-on-shelf"),
]
