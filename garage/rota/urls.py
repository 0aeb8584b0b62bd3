"""Addresses of the rota."""

from django.urls import path

from garage.rota import views

app_name = "rota"
urlpatterns = [
    path("", views.page, name="page"),
    path("people/<int:pk>/hours/", views.hours, name="hours"),
    path("away/", views.away, name="away"),
    path("away/<int:pk>/cancel/", views.cancel, name="cancel"),
    path("bays/", views.bays, name="bays"),
    path("bays/<int:pk>/close/", views.close_bay, name="close-bay"),
    path("bays/<int:pk>/open/", views.open_bay, name="open-bay"),
]
