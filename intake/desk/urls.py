"""Pages of the review desk, for the rep."""

from django.urls import URLPattern

app_name = "desk"
urlpatterns: list[URLPattern] = []
