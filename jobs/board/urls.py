"""Addresses of the board and the job card."""

from django.urls import path

from jobs.board import needed_views, views

app_name = "board"
urlpatterns = [
    path("", views.board, name="board"),
    path("lists/<slug:place>/", views.listed, name="list"),
    path("jobs/book/", views.book, name="book"),
    path("jobs/<str:code>/", views.job, name="job"),
    path("jobs/<str:code>/booking/", views.edit, name="edit"),
    path("jobs/<str:code>/needed/", needed_views.needed, name="needed"),
    path("jobs/<str:code>/go-on/<str:leaving>/", views.go_on, name="go-on"),
    path("jobs/<str:code>/send-back/", views.send_back, name="send-back"),
    path("jobs/<str:code>/kind/", views.kind, name="kind"),
    path("jobs/<str:code>/hold/", views.hold, name="hold"),
    path("jobs/<str:code>/abandon/", views.abandon, name="abandon"),
    path("jobs/<str:code>/take-up/", views.take_up, name="take-up"),
    path("jobs/<str:code>/unit/", views.unit, name="unit"),
    path("jobs/<str:code>/cautions/", views.cautions_read, name="cautions-read"),
    path("jobs/<str:code>/journal/", views.journal, name="journal"),
]
