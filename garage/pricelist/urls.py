"""Addresses of the price list."""

from django.urls import path

from garage.pricelist import views

app_name = "pricelist"
urlpatterns = [
    path("", views.parts, name="list"),
    path("<int:pk>/", views.part, name="part"),
]
