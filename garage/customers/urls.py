"""Addresses of the customers' room."""

from django.urls import path

from garage.customers import views

app_name = "customers"
urlpatterns = [
    path("", views.customers, name="list"),
    path("new/", views.new, name="new"),
    path("<int:pk>/", views.detail, name="detail"),
    path("<int:pk>/edit/", views.edit, name="edit"),
]
