"""Addresses of the people's room."""

from django.urls import path

from garage.people import second_factor_views as second
from garage.people import session_views, views

app_name = "people"
urlpatterns = [
    path("sign-in/", views.sign_in, name="sign-in"),
    path("sign-in/second-step/", second.second_step, name="second-step"),
    path("confirm/", second.prove, name="prove"),
    path("sign-out/", views.sign_out, name="sign-out"),
    path("set-up/", views.first_page, name="set-up"),
    path("bench/", views.switch, name="switch"),
    path("bench/first-pin/", views.first_pin, name="first-pin"),
    path("alone-today/", views.alone_today, name="alone-today"),
    path("account/", views.account, name="account"),
    path("account/password/", views.new_password, name="new-password"),
    path("account/pin/", views.new_pin, name="new-pin"),
    path("account/signed-in/", session_views.sessions, name="sessions"),
    path("account/signed-in/others/sign-out/", session_views.end_other_sessions, name="end-other-sessions"),
    path("account/signed-in/<uuid:name>/sign-out/", session_views.end_session, name="end-session"),
    path("account/second-factor/", second.second_factor, name="second-factor"),
    path("account/second-factor/time-code/", second.time_code, name="time-code"),
    path("account/second-factor/passkeys/new/", second.add_passkey, name="add-passkey"),
    path("account/second-factor/passkeys/<int:pk>/remove/", second.remove_passkey, name="remove-passkey"),
    path("account/second-factor/recovery-codes/", second.new_recovery_codes, name="new-recovery-codes"),
    path("account/second-factor/remove/", second.remove_second_factor, name="remove-second-factor"),
    path("workshop/", views.workshop, name="workshop"),
    path("workshop/second-factor/", second.second_factor_rule, name="second-factor-rule"),
    path("workshop/sign-ins/", views.sign_ins, name="sign-ins"),
    path("workshop/people/new/", views.new_person, name="new-person"),
    path("workshop/people/<int:pk>/", views.person, name="person"),
    path("workshop/people/<int:pk>/sign-out/", session_views.end_sessions_of, name="end-sessions-of"),
    path(
        "workshop/people/<int:pk>/second-factor/remove/",
        second.remove_second_factor_of,
        name="remove-second-factor-of",
    ),
]
