"""Addresses of the room for what is held about a person."""

from django.urls import path

from jobs.privacy import views

app_name = "privacy"
urlpatterns = [
    path("customers/<int:pk>/copy/", views.copy, name="copy"),
    path("customers/<int:pk>/erase/", views.forget, name="forget"),
    path("workshop/erased/", views.erasures, name="erasures"),
    path("workshop/erased/due/", views.erase_due, name="erase-due"),
]
