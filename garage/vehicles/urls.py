"""Addresses of the cars' room."""

from django.urls import path

from garage.vehicles import views

app_name = "vehicles"
urlpatterns = [
    path("", views.vehicles, name="list"),
    path("new/", views.new, name="new"),
    path("<int:pk>/", views.detail, name="detail"),
    path("<int:pk>/edit/", views.edit, name="edit"),
]
