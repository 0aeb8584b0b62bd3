"""Addresses of this room."""

from django.urls import URLPattern

app_name = "maps"
urlpatterns: list[URLPattern] = []
