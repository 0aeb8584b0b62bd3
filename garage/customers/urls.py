"""Addresses of this room."""

from django.urls import URLPattern

app_name = "customers"
urlpatterns: list[URLPattern] = []
