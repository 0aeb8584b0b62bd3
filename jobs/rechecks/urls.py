"""Addresses of the re-checks."""

from django.urls import path

from jobs.rechecks import views

app_name = "rechecks"
urlpatterns = [
    path("rechecks/", views.page, name="page"),
    path("rechecks/letters/", views.letters, name="letters"),
    path("rechecks/letters/text/", views.text, name="text"),
    path("rechecks/letters/<int:pk>/", views.batch, name="batch"),
    path("rechecks/letters/<int:pk>/pdf/", views.batch_pdf, name="batch-pdf"),
]
