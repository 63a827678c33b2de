"""Addresses that a document or a letter carries."""

from __future__ import annotations

from django.conf import settings

from intake.addresses import address
from intake.models import HireRequest
from intake.requests.links import link_token


def own_link(request: HireRequest) -> str:
    """The customer's link: it opens the request's pages on any device."""
    token = link_token(request.reference, request.link_generation)
    site: str = settings.SETWRIGHT_SITE_URL
    return site + address("intake:enter", token)
