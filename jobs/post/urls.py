"""Addresses of mail to customers."""

from django.urls import path

from jobs.post import views

app_name = "post"
urlpatterns = [
    path("mail/failed/", views.failed, name="failed"),
    path("workshop/mail/texts/", views.texts, name="texts"),
    path("workshop/mail/texts/<str:kind>/", views.text, name="text"),
    path("jobs/<str:code>/mail/<int:pk>/", views.mail, name="mail"),
    path("jobs/<str:code>/mail/<int:pk>/papers/<int:attachment>/", views.attachment, name="attachment"),
    path("jobs/<str:code>/mail/<int:pk>/again/", views.try_again, name="try-again"),
    path("jobs/<str:code>/mail/<int:pk>/by-hand/", views.sent_by_hand, name="sent-by-hand"),
    path("jobs/<str:code>/mail/<int:pk>/stop/", views.stop, name="stop"),
]
