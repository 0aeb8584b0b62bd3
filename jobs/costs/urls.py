"""Addresses of the room for hours and parts."""

from django.urls import path

from jobs.costs import views

app_name = "costs"
urlpatterns = [
    path("jobs/<str:code>/costs/", views.page, name="page"),
    path("jobs/<str:code>/costs/<uuid:pk>/", views.withdraw, name="withdraw"),
    path("jobs/<str:code>/hours/", views.hours, name="hours"),
    path("jobs/<str:code>/hours/<uuid:pk>/", views.withdraw_hours, name="withdraw-hours"),
]
