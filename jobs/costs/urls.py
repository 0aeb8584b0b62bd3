"""Addresses of this room."""

from django.urls import URLPattern

app_name = "costs"
urlpatterns: list[URLPattern] = []
