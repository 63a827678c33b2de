"""Pages of a request, for the customer."""

from django.urls import URLPattern

app_name = "intake"
urlpatterns: list[URLPattern] = []
