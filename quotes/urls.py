"""Pages of a quote, for the customer."""

from django.urls import path

from quotes.acceptance import views as acceptance
from quotes.offers import views as offers

app_name = "quotes"
QUOTE = "request/<str:reference>/quote/"
urlpatterns = [
    path(QUOTE, offers.offer, name="offer"),
    path(f"{QUOTE}progress/", offers.progress, name="progress"),
    path(f"{QUOTE}accept/", acceptance.accept, name="accept"),
    path(f"{QUOTE}decline/", acceptance.decline, name="decline"),
    path(f"{QUOTE}change/", acceptance.change, name="change"),
    path(f"{QUOTE}renew/", acceptance.renew, name="renew"),
    path(f"{QUOTE}choose/", acceptance.choose, name="choose"),
    path(f"{QUOTE}<int:number>/", offers.revision, name="revision"),
    path(f"{QUOTE}<int:number>/document.pdf", offers.document, name="document"),
]
