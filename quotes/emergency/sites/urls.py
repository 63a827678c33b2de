"""Addresses; included from the addresses of the emergency part, in the namespace of quotes."""

from django.urls import path

from quotes.emergency.sites import upload_views, views

SITES = "emergency/sites/"
urlpatterns = [
    path(SITES, views.sites, name="sites"),
    path(f"{SITES}add/", views.site_add, name="site_add"),
    path(f"{SITES}site/<int:site_id>/", views.site_page, name="site"),
    path(f"{SITES}site/<int:site_id>/reviewed/", views.site_reviewed, name="site_reviewed"),
    path(f"{SITES}site/<int:site_id>/archive/", views.site_archived, name="site_archived"),
    path(f"{SITES}upload/", upload_views.upload_new, name="site_upload"),
    path(f"{SITES}upload/<int:upload_id>/", upload_views.upload_page, name="site_upload_page"),
    path(f"{SITES}upload/<int:upload_id>/left.csv", upload_views.upload_left, name="site_left"),
    path(f"{SITES}template/<str:name>", upload_views.template, name="site_template"),
]
