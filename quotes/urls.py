"""Pages of a quote, for the customer."""

from django.urls import URLPattern

app_name = "quotes"
urlpatterns: list[URLPattern] = []
