"""Where a request comes from, behind proxies of our own that say so."""

from __future__ import annotations

import ipaddress
from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse


class ClientAddressMiddleware:
    """Put the caller's address where Django, the sign-in's lock and the record look for it.

    Each proxy adds the address it was called from at the end of the header; what stands further
    left was sent by the caller and proves nothing.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if settings.PROXIES:
            told = request.META.get("HTTP_X_FORWARDED_FOR", "")
            request.META["REMOTE_ADDR"] = client_address(
                told, peer=request.META.get("REMOTE_ADDR", ""), proxies=settings.PROXIES
            )
        return self.get_response(request)


def client_address(told: str, *, peer: str, proxies: int) -> str:
    """The address that the outermost of our proxies was called from, else the peer's own."""
    hops = [hop.strip() for hop in told.split(",") if hop.strip()]
    if len(hops) < proxies:
        return peer
    try:
        return str(ipaddress.ip_address(hops[-proxies]))
    except ValueError:
        return peer
