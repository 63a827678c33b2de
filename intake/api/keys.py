"""Keys of programs: made, checked, rotated, revoked. Only their hashes are stored."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Iterable
from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone
from rest_framework.authentication import BaseAuthentication, get_authorization_header
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from intake.models import ApiClient, ApiKey, Organisation
from intake.prepared import A_KEY, A_MOMENT, Prepared
from intake.requests.errors import ServiceRefusal

SCOPES = {
    "sizing": "size a requirement and read nameplates, nothing stored",
    "catalogue": "read the owner's sets and branches, and the questions of the intake",
    "requests": "make, change, send and read the client's own requests",
    "quotes": "read and accept the quotes of the client's own requests",
    "emergency": "ask for power in an emergency and read the client's own such requests",
    "sites_read": "read the standing sites of the public body the client belongs to",
    "sites_write": "add, change, review and retire these sites, and bring them in as a table",
    "cases": "work the desk as the person the client acts as",
    "bookings": "read orders and bookings as the person the client acts as",
    "owner": "read and change fleet and rates as the manager the client acts as",
    "webhooks": "keep the webhooks as the manager the client acts as",
}
AS_A_PERSON = frozenset({"cases", "bookings", "owner", "webhooks"})
OF_A_BODY = frozenset({"sites_read", "sites_write"})
MARK = "swk_"
SHOWN_LETTERS = 10
KEY_DAYS = 365
KEYS = Prepared(
    lambda hashed, now: ApiKey.objects.filter(
        secret_hash=hashed, revoked_at=None, expires_at__gt=now
    ),
    "a hash",
    A_MOMENT,
)
CLIENTS = Prepared(lambda pk: ApiClient.objects.filter(pk=pk), A_KEY)


class KeyRefused(ServiceRefusal):
    code = "key_refused"
    status_code = 422
    sentence = "This key cannot be made like that."


@transaction.atomic
def key_make(
    *,
    client_name: str,
    scopes: Iterable[str],
    now: datetime,
    acts_as: User | None = None,
    organisation: Organisation | None = None,
    days: int = KEY_DAYS,
) -> tuple[ApiKey, str]:
    """A new key of a client, made where there is none yet; the text is shown this once.

    A client stays with the organisation it was first made for: its keys open what it made.
    """
    chosen = sorted(set(scopes))
    _refuse_scopes(chosen)
    client, made = ApiClient.objects.get_or_create(
        name=client_name, defaults={"created_at": now, "organisation": organisation}
    )
    if not made and organisation is not None:
        _organisation_take(client, organisation)
    if acts_as is not None and client.acts_as != acts_as:
        client.acts_as = acts_as
        client.save(update_fields=["acts_as"])
    if AS_A_PERSON & set(chosen) and client.acts_as is None:
        raise KeyRefused("Name the person the client acts as: the record says who did what.")
    if OF_A_BODY & set(chosen) and client.organisation is None:
        raise KeyRefused("Name the public body the client belongs to: it sees that body's sites.")
    return _key_write(client, chosen, now, days)


def _organisation_take(client: ApiClient, organisation: Organisation) -> None:
    """Tie a client to an organisation, once."""
    if client.organisation not in (None, organisation):
        raise KeyRefused(f"“{client}” belongs to {client.organisation}. Use another name.")
    client.organisation = organisation
    client.save(update_fields=["organisation"])


def _refuse_scopes(scopes: list[str]) -> None:
    unknown = [scope for scope in scopes if scope not in SCOPES]
    if unknown or not scopes:
        raise KeyRefused(f"Choose scopes among {', '.join(SCOPES)}.")


def _key_write(
    client: ApiClient, scopes: list[str], now: datetime, days: int
) -> tuple[ApiKey, str]:
    text = MARK + secrets.token_urlsafe(32)
    key = ApiKey(
        client=client,
        start=text[:SHOWN_LETTERS],
        secret_hash=key_hash(text),
        scopes=scopes,
        created_at=now,
        expires_at=now + timedelta(days=days),
    )
    key.full_clean(exclude=["client"])
    key.save(force_insert=True)
    return key, text


@transaction.atomic
def key_rotate(*, key: ApiKey, now: datetime, overlap: timedelta) -> tuple[ApiKey, str]:
    """A new key with the same scopes; the old one ends after the overlap, or when it would have."""
    if key.revoked_at is not None or key.expires_at <= now:
        raise KeyRefused("This key has ended already: make a new one.")
    days = max(1, (key.expires_at - key.created_at).days)
    made = _key_write(key.client, list(key.scopes), now, days)
    ApiKey.objects.filter(pk=key.pk).update(expires_at=min(key.expires_at, now + overlap))
    return made


def key_revoke(*, key: ApiKey, now: datetime) -> None:
    """End a key at once."""
    ApiKey.objects.filter(pk=key.pk, revoked_at=None).update(revoked_at=now)


def key_hash(text: str) -> str:
    """What the database keeps of a key: with 256 random bits a plain hash is enough."""
    return hashlib.sha256(text.encode()).hexdigest()


def key_found(text: str, *, now: datetime) -> ApiKey | None:
    """The key of that text with its client, if it holds now; the day of its last use is noted."""
    key = KEYS.first(key_hash(text), now)
    client = CLIENTS.first(key.client_id) if key is not None else None
    if key is None or client is None:
        return None
    key.client = client
    if key.last_used_on != now.date():
        ApiKey.objects.filter(pk=key.pk).update(last_used_on=now.date())
    return key


class KeyAuthentication(BaseAuthentication):
    """``Authorization: Bearer swk_…``."""

    def authenticate(self, request: Request) -> tuple[ApiClient, ApiKey] | None:
        header = get_authorization_header(request).decode("latin-1").split()
        if not header or header[0].lower() != "bearer":
            return None
        key = key_found(header[1], now=timezone.now()) if len(header) == 2 else None
        if key is None:
            raise AuthenticationFailed("This key is unknown, revoked or has run out.")
        return key.client, key

    def authenticate_header(self, request: Request) -> str:
        return 'Bearer realm="api"'
