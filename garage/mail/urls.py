"""The addresses of the mail server's settings."""

from django.urls import path

from garage.mail import views

app_name = "mail"
urlpatterns = [
    path("", views.settings, name="settings"),
    path("test/", views.send_test, name="test"),
]
