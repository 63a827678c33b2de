"""Addresses of the API of quotes."""

from django.urls import path

from quotes.api import catalogue, offers

REQUEST = "requests/<str:reference>"
urlpatterns = [
    path(f"{REQUEST}/quote", offers.CurrentQuote.as_view(), name="quote"),
    path(
        f"{REQUEST}/quotes/<int:revision>/document.pdf",
        offers.QuotePdf.as_view(),
        name="quote_document",
    ),
    path(f"{REQUEST}/quote/acceptance", offers.QuoteAcceptance.as_view(), name="acceptance"),
    path(f"{REQUEST}/order", offers.OneOrder.as_view(), name="order"),
    path("catalogue/sets", catalogue.Sets.as_view(), name="sets"),
    path("catalogue/branches", catalogue.Branches.as_view(), name="branches"),
]
