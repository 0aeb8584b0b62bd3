"""Addresses of the room for hours and parts."""

from django.urls import path

from jobs.costs import timer_views, views

app_name = "costs"
urlpatterns = [
    path("jobs/<str:code>/costs/", views.page, name="page"),
    path("jobs/<str:code>/costs/<uuid:pk>/", views.withdraw, name="withdraw"),
    path("jobs/<str:code>/hours/", views.hours, name="hours"),
    path("jobs/<str:code>/hours/<uuid:pk>/", views.withdraw_hours, name="withdraw-hours"),
    path("jobs/<str:code>/hours/<uuid:pk>/correct/", timer_views.correct, name="correct-hours"),
    path("jobs/<str:code>/timer/", timer_views.start, name="start-timer"),
    path("timers/<uuid:pk>/stop/", timer_views.stop, name="stop-timer"),
]
