"""Addresses of the API of quotes."""

from django.urls import path

from quotes.api import bookings, catalogue, emergency, offers, owner, sites, unit_papers

REQUEST = "requests/<str:reference>"
CARD = "rates/cards/<str:card>"
urlpatterns = [
    path(f"{REQUEST}/quote", offers.CurrentQuote.as_view(), name="quote"),
    path(
        f"{REQUEST}/quotes/<int:revision>/document.pdf",
        offers.QuotePdf.as_view(),
        name="quote_document",
    ),
    path(f"{REQUEST}/quote/acceptance", offers.QuoteAcceptance.as_view(), name="acceptance"),
    path(f"{REQUEST}/quotes", offers.Revisions.as_view(), name="revisions"),
    path(f"{REQUEST}/quote/refusal", offers.QuoteRefusal.as_view(), name="quote_refusal"),
    path(f"{REQUEST}/quote/change", offers.QuoteChange.as_view(), name="quote_change"),
    path(f"{REQUEST}/order/statement.pdf", offers.StatementPdf.as_view(), name="order_statement"),
    path(
        f"{REQUEST}/order/units/<str:unit>/<str:paper>.pdf",
        unit_papers.OrderPaper.as_view(),
        name="order_paper",
    ),
    path(f"{REQUEST}/order", offers.OneOrder.as_view(), name="order"),
    path("catalogue/sets", catalogue.Sets.as_view(), name="sets"),
    path("catalogue/branches", catalogue.Branches.as_view(), name="branches"),
    path("emergency-requests", emergency.Emergencies.as_view(), name="emergencies"),
    path("emergency-requests/<str:reference>", emergency.OneEmergency.as_view(), name="emergency"),
    path("sites", sites.Sites.as_view(), name="sites"),
    path("sites/needs", sites.SiteNeeds.as_view(), name="site_needs"),
    path("sites/tables", sites.SiteTables.as_view(), name="site_tables"),
    path("sites/tables/<int:id>", sites.OneTable.as_view(), name="site_table"),
    path("sites/tables/<int:id>/taking", sites.TableTaking.as_view(), name="site_table_taking"),
    path("sites/<int:id>", sites.OneSite.as_view(), name="site"),
    path("sites/<int:id>/review", sites.SiteReview.as_view(), name="site_review"),
    path("bookings", bookings.Bookings.as_view(), name="bookings"),
    path("bookings/<int:id>", bookings.OneBooking.as_view(), name="booking"),
    path(
        "bookings/<int:id>/<str:paper>.pdf",
        unit_papers.BookingPaper.as_view(),
        name="booking_paper",
    ),
    path("fleet/sets", owner.OwnSets.as_view(), name="own_sets"),
    path("fleet/sets/<str:code>", owner.OneOwnSet.as_view(), name="own_set"),
    path("fleet/units", owner.Units.as_view(), name="units"),
    path("fleet/units/<str:number>", owner.OneUnit.as_view(), name="unit"),
    path("rates/cards", owner.Cards.as_view(), name="rate_cards"),
    path(CARD, owner.OneCard.as_view(), name="rate_card"),
    path(f"{CARD}/copies", owner.CardCopies.as_view(), name="card_copies"),
    path(f"{CARD}/prices", owner.Prices.as_view(), name="prices"),
    path(f"{CARD}/prices/<str:item>", owner.OnePrice.as_view(), name="price"),
    path(f"{CARD}/fees", owner.Fees.as_view(), name="fees"),
    path(f"{CARD}/fees/<str:fee>", owner.OneFee.as_view(), name="fee"),
]
