"""Addresses of this room."""

from django.urls import URLPattern

app_name = "fitting"
urlpatterns: list[URLPattern] = []
