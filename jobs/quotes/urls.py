"""Addresses of the quotes. Those under `papers/` are sent to customers: they are a promise."""

from django.urls import path

from jobs.quotes import link_views, send_views, views

app_name = "quotes"
urlpatterns = [
    path("jobs/<str:code>/quotes/", views.page, name="page"),
    path("jobs/<str:code>/quotes/new/", views.new, name="new"),
    path("jobs/<str:code>/quotes/supplement/", views.supplement, name="supplement"),
    path("jobs/<str:code>/quotes/<int:pk>/", views.quote, name="quote"),
    path("jobs/<str:code>/quotes/<int:pk>/version/", views.version, name="version"),
    path("jobs/<str:code>/quotes/<int:pk>/paper/", views.paper, name="paper"),
    path("jobs/<str:code>/quotes/<int:pk>/send/", send_views.send, name="send"),
    path("jobs/<str:code>/quotes/<int:pk>/answer/", views.answer, name="answer"),
    path("quotes/usual-parts/", views.usual_parts, name="usual-parts"),
    # the customer's, without an account
    path("papers/<str:token>/quotes/<int:pk>/", link_views.quote, name="customer-quote"),
    path("papers/<str:token>/quotes/<int:pk>/paper/", link_views.paper, name="customer-paper"),
    path(
        "papers/<str:token>/quotes/<int:pk>/photographs/<int:number>/",
        link_views.photograph,
        name="customer-photograph",
    ),
    path(
        "papers/<str:token>/quotes/<int:pk>/photographs/<int:number>/small/",
        link_views.photograph_small,
        name="customer-photograph-small",
    ),
]
