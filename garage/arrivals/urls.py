"""Addresses of an import."""

from django.urls import path

from garage.arrivals import views

app_name = "arrivals"
urlpatterns = [
    path("", views.upload, name="upload"),
    path("<uuid:pk>/columns/", views.columns, name="columns"),
    path("<uuid:pk>/preview/", views.preview, name="preview"),
    path("<uuid:pk>/bring-in/", views.bring_in, name="bring-in"),
    path("<uuid:pk>/drop/", views.drop, name="drop"),
    path("done/<int:pk>/", views.done, name="done"),
    path("done/<int:pk>/undo/", views.undo, name="undo"),
]
