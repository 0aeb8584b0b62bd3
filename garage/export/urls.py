"""Addresses of the page of exports."""

from django.urls import path

from garage.export import views

app_name = "export"
urlpatterns = [
    path("", views.page, name="page"),
    path("<str:name>/", views.download, name="download"),
    path("<str:name>/remove/", views.remove, name="remove"),
]
