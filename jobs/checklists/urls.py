"""Addresses of the check-lists: the sheet, what the tablet sends and asks, photographs, and the check-lists."""

from django.urls import path

from jobs.checklists import editor_views, from_paper_views, second_check_views, tablet, views

app_name = "checklists"
urlpatterns = [
    # a sheet of either kind
    path("jobs/<str:code>/sheet/<str:kind>/begin/", views.begin, name="begin"),
    path("jobs/<str:code>/sheet/<str:kind>/newer/", views.newer, name="newer"),
    path("jobs/<str:code>/sheet/<str:kind>/from-paper/", from_paper_views.from_paper, name="from-paper"),
    path("jobs/<str:code>/sheet/<str:kind>/items/<slug:key>/", views.item, name="item"),
    path("jobs/<str:code>/sheet/<str:kind>/items/<slug:key>/second/", second_check_views.confirm, name="confirm"),
    path("jobs/<str:code>/sheet/<str:kind>/items/<slug:key>/again/", second_check_views.again, name="again"),
    path("jobs/<str:code>/sheet/<str:kind>/items/<slug:key>/record/", views.correct, name="correct-record"),
    # the tablet
    path("jobs/<str:code>/sheet/<str:kind>/send/", tablet.send, name="send"),
    path("jobs/<str:code>/sheet/<str:kind>/state/", tablet.state, name="state"),
    path("jobs/service-worker.js", tablet.service_worker, name="service-worker"),
    # photographs
    path("jobs/photographs/<uuid:pk>/", views.photograph, name="photograph"),
    path("jobs/photographs/<uuid:pk>/small/", views.photograph_small, name="photograph-small"),
    path("jobs/item-pictures/<int:pk>/", views.item_picture, name="item-picture"),
    # the check-lists
    path("check-lists/", editor_views.templates, name="templates"),
    path("check-lists/new/", editor_views.new_template, name="new-template"),
    path("check-lists/put-in/", editor_views.put_in_shipped, name="put-in-shipped"),
    path("check-lists/<int:pk>/", editor_views.template, name="template"),
    path("check-lists/<int:pk>/edit/", editor_views.edit_template, name="edit-template"),
    path("check-lists/<int:pk>/draft/", editor_views.begin_draft, name="begin-draft"),
    path("check-lists/revisions/<int:pk>/", editor_views.revision, name="revision"),
    path("check-lists/revisions/<int:pk>/publish/", editor_views.publish, name="publish"),
    path("check-lists/revisions/<int:pk>/drop/", editor_views.drop_draft, name="drop-draft"),
    path("check-lists/revisions/<int:pk>/items/new/", editor_views.new_item, name="new-item"),
    path("check-lists/items/<int:pk>/", editor_views.edit_item, name="edit-item"),
    path("check-lists/items/<int:pk>/move/", editor_views.move_item, name="move-item"),
    path("check-lists/items/<int:pk>/remove/", editor_views.remove_item, name="remove-item"),
]
