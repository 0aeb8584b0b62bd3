"""Addresses of this room."""

from django.shortcuts import render
from django.urls import path

from jobs.card.pages import job_context, job_for

app_name = "maps"
urlpatterns = [
    path(
        "jobs/<str:code>/map/",
        lambda request, code: render(request, "jobs/_job_page.html", job_context(request, job_for(code))),
        name="page",
    ),
]
