"""Addresses of this room."""

from django.http import HttpResponse
from django.urls import path

app_name = "people"
urlpatterns = [
    path("temp-people/" + name + "/" + part, lambda request, **k: HttpResponse("being built"), name=name)
    for name, part in [("list", ""), ("new", ""), ("detail", "<int:pk>/"), ("edit", "<int:pk>/"), ("sign-in", ""), ("sign-out", ""), ("set-up", ""), ("switch", ""), ("workshop", "")]
]
