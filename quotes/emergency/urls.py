"""Pages of an emergency; included from the addresses of quotes, in the same namespace."""

from django.urls import include, path

urlpatterns = [
    path("", include("quotes.emergency.express.urls")),
    path("", include("quotes.emergency.sites.urls")),
    path("", include("quotes.emergency.event.urls")),
    path("", include("quotes.emergency.fuel.urls")),
    path("", include("quotes.emergency.papers.urls")),
]
