"""Addresses of the week. A calendar keeps the address of its feed: it is a promise."""

from django.urls import path

from jobs.week import feed_views, views

app_name = "week"
urlpatterns = [
    path("week/", views.week, name="week"),
    path("week/usual-hours/", views.usual_hours, name="usual-hours"),
    path("week/calendars/", feed_views.feeds, name="feeds"),
    path("week/calendars/<int:pk>/withdraw/", feed_views.withdraw, name="withdraw-feed"),
    path("jobs/<str:code>/move/", views.move, name="move"),
    path("calendar/<str:token>.ics", feed_views.feed, name="feed"),
]
