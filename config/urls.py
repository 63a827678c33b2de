"""Where everything is found."""

from django.contrib import admin
from django.urls import include, path
from django.views.i18n import set_language

from config import error_pages, health
from config.accounts import password, password_changed, sessions, sign_in, sign_out
from config.metrics.page import metrics
from config.owners_tables import door

# In the order of looking: addresses with a first word of their own before those without, which
# would all be tried for each of them.
urlpatterns = [
    path("api/v1/", include("config.api.urls")),
    path("health/live", health.live, name="health_live"),
    path("health/ready", health.ready, name="health_ready"),
    path("health/work", health.work, name="health_work"),
    path("metrics", metrics, name="metrics"),
    path("desk/", include("intake.desk.urls")),
    path("", include("intake.urls")),
    path("", include("quotes.urls")),
    path("accounts/sign-in/", sign_in, name="login"),
    path("accounts/sign-out/", sign_out, name="logout"),
    path("accounts/sessions/", sessions, name="sessions"),
    path("accounts/password/", password, name="password"),
    path("accounts/password/changed/", password_changed, name="password_changed"),
    path("language/", set_language, name="set_language"),
    # one door for everybody, so that the one-time code is asked here too
    path("admin/login/", door, name="admin_door"),
    path("admin/", admin.site.urls),
]

handler400 = error_pages.bad_request
handler403 = error_pages.forbidden
handler404 = error_pages.not_found
handler500 = error_pages.server_error
