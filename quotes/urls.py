"""Pages of quotes: for the customer, and for the desk."""

from django.urls import include, path

from quotes.acceptance import views as acceptance
from quotes.desk import views as desk
from quotes.offers import views as offers

app_name = "quotes"
QUOTE = "request/<str:reference>/quote/"
urlpatterns = [
    path("", include("quotes.handover.urls")),
    path("", include("quotes.emergency.urls")),
    path(QUOTE, offers.offer, name="offer"),
    path(f"{QUOTE}progress/", offers.progress, name="progress"),
    path(f"{QUOTE}accept/", acceptance.accept, name="accept"),
    path(f"{QUOTE}decline/", acceptance.decline, name="decline"),
    path(f"{QUOTE}change/", acceptance.change, name="change"),
    path(f"{QUOTE}renew/", acceptance.renew, name="renew"),
    path(f"{QUOTE}choose/", acceptance.choose, name="choose"),
    path(f"{QUOTE}<int:number>/", offers.revision, name="revision"),
    path(f"{QUOTE}<int:number>/document.pdf", offers.document, name="document"),
    path("desk/quotes/", desk.quote_list, name="desk_list"),
    path("desk/quotes/<str:reference>/", desk.quote_page, name="desk_quote"),
    path("desk/quotes/<str:reference>/<int:number>.pdf", desk.quote_document, name="desk_document"),
]
