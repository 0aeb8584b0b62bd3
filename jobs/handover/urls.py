"""Addresses of the handover's room. Those under `papers/` are sent to customers: they are a promise."""

from django.urls import path

from jobs.handover import views

app_name = "handover"
urlpatterns = [
    path("jobs/<str:code>/handover/", views.page, name="page"),
    path("jobs/<str:code>/handover/sign-off/", views.sign_off, name="sign-off"),
    path("jobs/<str:code>/handover/issue/<str:kind>/", views.issue, name="issue"),
    path("jobs/<str:code>/handover/documents/<int:pk>/", views.document, name="document"),
    path("jobs/<str:code>/handover/link/", views.make_link, name="make-link"),
    path("jobs/<str:code>/handover/link/revoke/", views.revoke_links, name="revoke-links"),
    path("jobs/<str:code>/after-care/", views.after_care, name="after-care"),
    # the customer's, without an account
    path("papers/<str:token>/", views.customer_page, name="customer-page"),
    path("papers/<str:token>/<int:pk>/", views.customer_document, name="customer-document"),
]
