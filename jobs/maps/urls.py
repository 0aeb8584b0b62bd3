"""Addresses of the map bench."""

from django.urls import path

from jobs.maps import bench_views, keying_views, start_views, views

app_name = "maps"
urlpatterns = [
    # the workshop's patterns
    path("patterns/", views.patterns, name="patterns"),
    path("patterns/<int:pk>/retire/", views.retire_pattern, name="retire-pattern"),
    # the stage of a job
    path("jobs/<str:code>/map/", views.page, name="page"),
    path("jobs/<str:code>/map/start/", start_views.start, name="start"),
    path("jobs/<str:code>/map/compare/", views.compare, name="compare"),
    # one version
    path("jobs/<str:code>/map/<int:number>/", bench_views.version, name="version"),
    path("jobs/<str:code>/map/<int:number>/judge/", bench_views.judge, name="judge"),
    path("jobs/<str:code>/map/<int:number>/typed/", bench_views.typed, name="typed"),
    path("jobs/<str:code>/map/<int:number>/release/", bench_views.release, name="release"),
    path("jobs/<str:code>/map/<int:number>/set-aside/", bench_views.set_aside, name="set-aside"),
    path("jobs/<str:code>/map/<int:number>/next/", start_views.next_version, name="next"),
    path("jobs/<str:code>/map/<int:number>/refit/", start_views.refit, name="refit"),
    path("jobs/<str:code>/map/<int:number>/keep/", views.keep, name="keep"),
    path("jobs/<str:code>/map/<int:number>/key-in/", keying_views.key_in, name="key-in"),
    path("jobs/<str:code>/map/<int:number>/read-back/", keying_views.read_back, name="read-back"),
    path(
        "jobs/<str:code>/map/<int:number>/read-back/<uuid:pk>/",
        keying_views.read_back_result,
        name="read-back-result",
    ),
    # for the bench's script
    path("map/paste/", bench_views.paste, name="paste"),
]
