"""The addresses of the work in the background."""

from django.urls import path

from garage.background import views

app_name = "background"
urlpatterns = [
    path("", views.page, name="page"),
    path("<uuid:task_id>/again/", views.try_again, name="try-again"),
]
