"""Addresses of the logs of a road test."""

from django.urls import path

from jobs.roadlogs import views

app_name = "roadlogs"
urlpatterns = [
    path("jobs/<str:code>/road-test/<int:run>/logs/", views.logs, name="logs"),
    path("jobs/<str:code>/road-test/<int:run>/logs/upload/", views.upload, name="upload"),
    path("jobs/<str:code>/logs/compare/", views.compare, name="compare"),
    path("jobs/<str:code>/logs/<int:pk>/", views.log, name="log"),
    path("jobs/<str:code>/logs/<int:pk>/columns/", views.columns, name="columns"),
    path("jobs/<str:code>/logs/<int:pk>/progress/", views.progress, name="progress"),
    path("jobs/<str:code>/logs/<int:pk>/again/", views.again, name="again"),
    path("jobs/<str:code>/logs/<int:pk>/clock/", views.clock, name="clock"),
    path("jobs/<str:code>/logs/<int:pk>/remove/", views.remove, name="remove"),
    path("jobs/<str:code>/logs/<int:pk>/window/", views.window, name="window"),
]
