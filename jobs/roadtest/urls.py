"""Addresses of this room."""

from django.urls import URLPattern

app_name = "roadtest"
urlpatterns: list[URLPattern] = []
