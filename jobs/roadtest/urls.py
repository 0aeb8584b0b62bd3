"""Addresses of the road test's room."""

from django.urls import path

from jobs.roadtest import from_paper_views, tablet, views

app_name = "roadtest"
urlpatterns = [
    path("jobs/<str:code>/road-test/", views.page, name="page"),
    path("jobs/<str:code>/road-test/begin/", views.begin, name="begin"),
    path("jobs/<str:code>/road-test/<int:pk>/", views.run, name="run"),
    path("jobs/<str:code>/road-test/<int:pk>/note/", views.note, name="note"),
    path("jobs/<str:code>/road-test/<int:pk>/send/", tablet.send, name="send"),
    path("jobs/<str:code>/road-test/<int:pk>/note/<uuid:note>/place/", views.place, name="place"),
    path("jobs/<str:code>/road-test/<int:pk>/note/<uuid:note>/", views.withdraw, name="withdraw"),
    path("jobs/<str:code>/road-test/<int:pk>/from-paper/", from_paper_views.from_paper, name="from-paper"),
    path("jobs/<str:code>/road-test/<int:pk>/end/", views.end, name="end"),
]
