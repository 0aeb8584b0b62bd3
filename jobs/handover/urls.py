"""Addresses of the handover's room."""

from django.urls import path

from jobs.handover import views

app_name = "handover"
urlpatterns = [
    path("jobs/<str:code>/handover/", views.page, name="page"),
    path("jobs/<str:code>/handover/sign-off/", views.sign_off, name="sign-off"),
    path("jobs/<str:code>/handover/again/", views.again, name="again"),
    path("jobs/<str:code>/handover/issue/<str:kind>/", views.issue, name="issue"),
    path("jobs/<str:code>/after-care/", views.after_care, name="after-care"),
]
