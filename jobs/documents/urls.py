"""Addresses of the documents. Those under `papers/` are sent to customers: they are a promise."""

from django.urls import path

from jobs.documents import blank_views, send_views, views

app_name = "documents"
urlpatterns = [
    path("jobs/<str:code>/handover/documents/<int:pk>/", views.document, name="document"),
    path("jobs/<str:code>/blank-sheets/", blank_views.blank_sheets, name="blank-sheets"),
    path("jobs/<str:code>/handover/documents/send/", send_views.send, name="send"),
    path("jobs/<str:code>/handover/link/", views.make_link, name="make-link"),
    path("jobs/<str:code>/handover/link/revoke/", views.revoke_links, name="revoke-links"),
    # the customer's, without an account
    path("papers/<str:token>/", views.customer_page, name="customer-page"),
    path("papers/<str:token>/<int:pk>/", views.customer_document, name="customer-document"),
]
