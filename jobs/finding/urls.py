"""The address of the search."""

from django.urls import path

from jobs.finding import views

app_name = "finding"
urlpatterns = [path("search/", views.page, name="search")]
