"""The address of the list of backups."""

from django.urls import path

from garage.backup import views

app_name = "backup"
urlpatterns = [path("", views.page, name="page")]
