"""The customer's link: a 256-bit token derived from the secret key, stored only as a hash.

``/r/<token>/`` sets a cookie that only the request's own pages get, then shows a clean address.
A new generation makes the old link useless.
"""

from __future__ import annotations

import base64
import hashlib
from datetime import datetime

from django.conf import settings
from django.utils.crypto import salted_hmac

from intake.models import HireRequest
from intake.prepared import Prepared
from intake.requests.errors import LinkRefused

COOKIE = "__Secure-request_key" if settings.HTTPS_ONLY else "request_key"
BY_TOKEN = Prepared(lambda hashed: HireRequest.objects.filter(token_hash=hashed), "")


def link_token(reference: str, generation: int) -> str:
    """The token of a request's link; the same every time it is asked for."""
    return derived_token("intake.request.link", reference, generation)


def derived_token(purpose: str, *of_what: object) -> str:
    """256 bits derived from the secret key, for an address: the same for the same purpose."""
    words = ".".join(map(str, of_what))
    digest = salted_hmac(purpose, words, algorithm="sha256").digest()
    return base64.urlsafe_b64encode(digest).decode().rstrip("=")


def token_hash(token: str) -> str:
    """What the database keeps of a token."""
    return hashlib.sha256(token.encode()).hexdigest()


def request_by_token(token: str, *, now: datetime) -> HireRequest:
    """The request a token opens, or ``LinkRefused`` where it is unknown, revoked or expired."""
    found = BY_TOKEN.first(token_hash(token))
    if found is None or found.link_expires_at <= now:
        raise LinkRefused
    return found


def request_opened(*, reference: str, token: str | None, now: datetime) -> HireRequest:
    """The request behind a clean address, opened with the token from its cookie."""
    found = request_by_token(token or "", now=now)
    if found.reference != reference:
        raise LinkRefused
    return found


def link_renew(*, request: HireRequest) -> str:
    """Revoke the old link and return the token of the new one."""
    request.link_generation += 1
    token = link_token(request.reference, request.link_generation)
    request.token_hash = token_hash(token)
    request.save(update_fields=["link_generation", "token_hash"])
    return token
