"""Addresses of the inspection room."""

from django.urls import path

from jobs.inspection import views

app_name = "inspection"
urlpatterns = [
    path("jobs/<str:code>/inspection/", views.page, name="page"),
    path("jobs/<str:code>/inspection/sheet/", views.sheet, name="sheet"),
    path("jobs/<str:code>/inspection/sweep/", views.add_sweep_reading, name="add-sweep-reading"),
    path("jobs/<str:code>/inspection/sweep/several/", views.add_several_sweeps, name="add-several-sweeps"),
    path("jobs/<str:code>/inspection/sweep/<uuid:pk>/", views.withdraw_sweep_reading, name="withdraw-sweep-reading"),
    path("jobs/<str:code>/inspection/mark/", views.check_mark, name="check-mark"),
    path("jobs/<str:code>/inspection/compression/", views.read_compression, name="read-compression"),
    path("jobs/<str:code>/inspection/verdict/", views.give_verdict, name="give-verdict"),
]
