"""Addresses; included from the addresses of the emergency part, in the namespace of quotes."""

from django.urls import path

from quotes.emergency.fuel import views

FUEL = "desk/emergency/<str:code>/fuel/"
urlpatterns = [
    path(FUEL, views.fuel, name="emergency_fuel"),
    path(f"{FUEL}<int:number>/print.pdf", views.fuel_print, name="emergency_fuel_print"),
]
