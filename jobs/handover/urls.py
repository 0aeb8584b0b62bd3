"""Addresses of this room."""

from django.urls import URLPattern

app_name = "handover"
urlpatterns: list[URLPattern] = []
