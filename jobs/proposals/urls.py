"""Addresses of the proposals: what the road speaks for, and where a figure of a map comes from."""

from django.urls import path

from jobs.proposals import views

app_name = "proposals"
urlpatterns = [
    path("jobs/<str:code>/proposal/", views.page, name="page"),
    path("jobs/<str:code>/proposal/<uuid:pk>/", views.decided, name="decided"),
    path("jobs/<str:code>/map/<int:number>/why/", views.why, name="why"),
]
