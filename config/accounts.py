"""Signing in and out, one's password and sessions, for staff. Customers have a link instead."""

from typing import Any

from django.conf import settings
from django.contrib.auth.models import User
from django.contrib.auth.views import LoginView, LogoutView, PasswordChangeView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse_lazy
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from intake.desk.access import desk_page
from intake.desk.sessions import handle_of, others_end, session_end, sessions_of
from intake.desk.signin import SignInForm

sign_in = never_cache(
    LoginView.as_view(
        template_name="accounts/sign_in.html",
        authentication_form=SignInForm,
        redirect_authenticated_user=True,
    )
)
sign_out = LogoutView.as_view()
password = desk_page("read_desk")(
    PasswordChangeView.as_view(
        template_name="accounts/password.html", success_url=reverse_lazy("password_changed")
    )
)
password_changed = desk_page("read_desk")(
    PasswordChangeView.as_view(
        template_name="accounts/password.html",
        http_method_names=["get", "head"],
        extra_context={"done": True},
    )
)


@require_http_methods(["GET", "HEAD", "POST"])
@desk_page("read_desk", without_code=True)
def sessions(web: HttpRequest) -> HttpResponse:
    """Where one is signed in, and signing out there."""
    assert isinstance(web.user, User)
    now, here = timezone.now(), web.session.session_key
    if web.method == "POST" and "others" in web.POST:
        others_end(user=web.user, keep=here, now=now)
        return redirect("sessions")
    if web.method == "POST":
        session_end(user=web.user, handle=web.POST.get("session", ""), now=now)
        return redirect("sessions")
    rows = [_row(row, here) for row in sessions_of(web.user, now=now)]
    hours, minutes = settings.SESSION_COOKIE_AGE // 3600, settings.SETWRIGHT_SESSION_IDLE_MINUTES
    context = {"rows": rows, "hours": hours, "minutes": minutes}
    return render(web, "accounts/sessions.html", context)


def _row(row: Any, here: str | None) -> dict[str, Any]:
    return {"session": row, "handle": handle_of(row), "here": row.session_key == here}
