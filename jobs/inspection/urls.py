"""Addresses of this room."""

from django.urls import URLPattern

app_name = "inspection"
urlpatterns: list[URLPattern] = []
