"""The admin, where the owner's rates and fleet are kept: behind a role and a one-time code."""

from __future__ import annotations

from typing import Any

from django.contrib.admin import AdminSite
from django.contrib.admin.apps import AdminConfig
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import redirect
from django.views.decorators.cache import never_cache

from intake.desk.second_factor import code_missing_for_admin


class OwnersTablesConfig(AdminConfig):
    default_site = "config.owners_tables.OwnersTables"


class OwnersTables(AdminSite):
    """Django's admin, with one door more."""

    site_header = "Rates and fleet"
    site_title = "Setwright"
    site_url = "/desk/"

    def has_permission(self, request: HttpRequest) -> bool:
        return super().has_permission(request) and not code_missing_for_admin(request)


@never_cache
def door(request: HttpRequest, **_: Any) -> HttpResponseBase:
    """Where the admin sends whom it does not let in: one door for everybody.

    A stranger signs in; staff without a code are led to where codes are switched on; others are
    refused, rather than sent round in a circle.
    """
    if not request.user.is_authenticated:
        response = redirect("login")
        response["Location"] += f"?{request.GET.urlencode(safe='/')}" if request.GET else ""
        return response
    if AdminSite().has_permission(request):
        return redirect("desk:codes" if code_missing_for_admin(request) else "admin:index")
    raise PermissionDenied
