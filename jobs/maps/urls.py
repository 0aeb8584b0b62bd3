"""Addresses of the maps: versions keyed in and read back, and the workshop's template curves."""

from django.urls import path

from jobs.maps import keying_views, views

app_name = "maps"
urlpatterns = [
    path("patterns/", views.patterns, name="patterns"),
    path("patterns/<int:pk>/retire/", views.retire_pattern, name="retire-pattern"),
    path("jobs/<str:code>/map/", views.page, name="page"),
    path("jobs/<str:code>/map/carry-over/", views.carry_over, name="carry-over"),
    path("jobs/<str:code>/map/<int:number>/keep/", views.keep, name="keep"),
    path("jobs/<str:code>/map/<int:number>/key-in/", keying_views.key_in, name="key-in"),
    path("jobs/<str:code>/map/<int:number>/read-back/", keying_views.read_back, name="read-back"),
    path(
        "jobs/<str:code>/map/<int:number>/read-back/<uuid:pk>/",
        keying_views.read_back_result,
        name="read-back-result",
    ),
]
