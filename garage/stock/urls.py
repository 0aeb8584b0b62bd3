"""Addresses of the stock."""

from django.urls import path

from garage.stock import views

app_name = "stock"
urlpatterns = [
    path("", views.stock, name="list"),
    path("<int:pk>/", views.part, name="part"),
    path("<int:pk>/bought/", views.bought, name="bought"),
    path("<int:pk>/count/", views.count, name="count"),
    path("units/<int:pk>/", views.low_mark, name="low-mark"),
]
