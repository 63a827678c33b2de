"""Addresses; included from the addresses of the emergency part, in the namespace of quotes."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
