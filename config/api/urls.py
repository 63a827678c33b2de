"""Version 1 of the API."""

from django.urls import include, path

from config.api import views

app_name = "api"
urlpatterns = [
    path("", views.viewer, name="viewer"),
    path("openapi.json", views.openapi, name="openapi"),
    path("", include("intake.api.urls")),
    path("", include("quotes.api.urls")),
    path("<path:rest>", views.Nothing.as_view(), name="nothing"),
]
