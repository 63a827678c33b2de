"""Signing in and out, for reps and managers. Customers have a link instead."""

from django.contrib.auth.views import LoginView, LogoutView
from django.views.decorators.cache import never_cache

from intake.desk.signin import SignInForm

sign_in = never_cache(
    LoginView.as_view(
        template_name="accounts/sign_in.html",
        authentication_form=SignInForm,
        redirect_authenticated_user=True,
    )
)
sign_out = LogoutView.as_view()
