"""Addresses of the room for hours and parts."""

from django.urls import path

from jobs.costs import views

app_name = "costs"
urlpatterns = [
    path("jobs/<str:code>/costs/", views.page, name="page"),
    path("jobs/<str:code>/costs/<uuid:pk>/", views.withdraw, name="withdraw"),
]
