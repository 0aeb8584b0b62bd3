"""Addresses of the room for bills."""

from django.urls import path

from jobs.billing import link_views, list_views, send_views, settings_views, views

app_name = "billing"
urlpatterns = [
    path("jobs/<str:code>/bill/", views.new, name="new"),
    path("bills/", list_views.bills, name="list"),
    path("bills/accounts/", list_views.accounts, name="accounts"),
    path("bills/settings/", settings_views.settings, name="settings"),
    path("bills/rates/", settings_views.add_rate, name="add-rate"),
    path("bills/rates/<int:pk>/retire/", settings_views.retire_rate, name="retire-rate"),
    path("bills/<int:pk>/", views.detail, name="bill"),
    path("bills/<int:pk>/paper/", views.paper, name="paper"),
    path("bills/<int:pk>/send/", send_views.send, name="send"),
    path("bills/<int:pk>/credit/", views.credit, name="credit"),
    path("bills/<int:pk>/pay/", views.pay, name="pay"),
    path("bills/<int:pk>/refund/", views.refund, name="refund"),
    path("bills/<int:pk>/payments/<uuid:payment>/", views.withdraw_payment, name="withdraw-payment"),
    # the customer's, without an account
    path("papers/<str:token>/bills/<int:pk>/", link_views.paper, name="customer-bill"),
]
