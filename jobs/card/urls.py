"""Addresses of this room."""

from django.urls import URLPattern

app_name = "card"
urlpatterns: list[URLPattern] = []
