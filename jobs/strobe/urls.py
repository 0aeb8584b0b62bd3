"""Addresses of this room."""

from django.urls import URLPattern

app_name = "strobe"
urlpatterns: list[URLPattern] = []
