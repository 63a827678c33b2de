"""Addresses; included from the addresses of the emergency part, in the namespace of quotes."""

from django.urls import path

from quotes.emergency.express import views
from quotes.emergency.organisations import access

REQUEST = "request/<str:reference>/emergency/"
urlpatterns = [
    path("emergency/", views.express, name="express"),
    path("emergency/link/", access.link_again, name="body_link"),
    path("emergency/key/<str:token>/", access.body_enter, name="body_enter"),
    path(REQUEST, views.taken, name="express_taken"),
    path(f"{REQUEST}more/", views.details, name="express_details"),
]
