"""Signing in and out, and changing one's password, for staff. Customers have a link instead."""

from django.contrib.auth.views import LoginView, LogoutView, PasswordChangeView
from django.urls import reverse_lazy
from django.views.decorators.cache import never_cache

from intake.desk.access import desk_page
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
