"""Addresses of the strobe's room."""

from django.urls import path

from jobs.strobe import tablet, tape_views, views

app_name = "strobe"
urlpatterns = [
    path("jobs/<str:code>/base-timing/", views.page, name="page"),
    path("jobs/<str:code>/base-timing/begin/", views.begin_base, name="begin-base"),
    path("jobs/<str:code>/base-timing/clamp/", views.record_clamp, name="record-clamp"),
    path("jobs/<str:code>/base-timing/tape/", tape_views.tape, name="tape"),
    path("jobs/<str:code>/strobe/begin/<str:purpose>/", views.begin_map, name="begin-map"),
    path("jobs/<str:code>/strobe/<int:pk>/", views.session, name="session"),
    path("jobs/<str:code>/strobe/<int:pk>/send/", tablet.send, name="send"),
    path("jobs/<str:code>/strobe/<int:pk>/reading/", views.add_reading, name="add-reading"),
    path("jobs/<str:code>/strobe/<int:pk>/several/", views.add_several, name="add-several"),
    path("jobs/<str:code>/strobe/<int:pk>/reading/<uuid:reading>/", views.withdraw, name="withdraw"),
]
