"""Addresses of the map bench: a version started, changed, judged, released or discarded."""

from django.urls import path

from jobs.bench import compare_views, start_views, views

app_name = "bench"
urlpatterns = [
    path("jobs/<str:code>/map/compare/", compare_views.compare, name="compare"),
    path("jobs/<str:code>/map/start/", start_views.start, name="start"),
    path("jobs/<str:code>/map/from-sheet/", start_views.from_sheet, name="from-sheet"),
    path("jobs/<str:code>/map/<int:number>/", views.version, name="version"),
    path("jobs/<str:code>/map/<int:number>/judge/", views.judge, name="judge"),
    path("jobs/<str:code>/map/<int:number>/typed/", views.typed, name="typed"),
    path("jobs/<str:code>/map/<int:number>/release/", views.release, name="release"),
    path("jobs/<str:code>/map/<int:number>/set-aside/", views.set_aside, name="set-aside"),
    path("jobs/<str:code>/map/<int:number>/next/", start_views.next_version, name="next"),
    path("jobs/<str:code>/map/<int:number>/refit/", start_views.refit, name="refit"),
    path("map/paste/", views.paste, name="paste"),
]
