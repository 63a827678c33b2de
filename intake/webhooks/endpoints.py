"""The addresses that are told: kept by a manager, each change in the record."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F

from intake.events.services import event_record
from intake.models import WebhookEndpoint
from intake.webhooks.addresses import url_checked
from intake.webhooks.errors import EndpointChanged, KindsRefused
from intake.webhooks.kinds import KINDS
from intake.webhooks.secrets import secret_of

OVERLAP = timedelta(hours=24)
LONGEST_OVERLAP_HOURS = 24 * 30


@transaction.atomic
def endpoint_make(
    *, name: str, url: str, kinds: Iterable[str], actor: User, now: datetime
) -> tuple[WebhookEndpoint, str]:
    """A new address to tell, and its secret, which is shown this once."""
    endpoint = WebhookEndpoint(
        name=name.strip(), url=url_checked(url).geturl(), kinds=kinds_checked(kinds), created_at=now
    )
    endpoint.full_clean()
    endpoint.save(force_insert=True)
    _record(endpoint, "added", actor, now)
    return endpoint, secret_of(endpoint)


def kinds_checked(kinds: Iterable[str]) -> list[str]:
    """Kinds as they are kept, in one order."""
    chosen = set(kinds)
    if not chosen or chosen - set(KINDS):
        raise KindsRefused(f"Choose among {', '.join(KINDS)}.")
    return [kind for kind in KINDS if kind in chosen]


@transaction.atomic
def endpoint_change(
    *, endpoint: WebhookEndpoint, version: int, changes: dict[str, Any], actor: User, now: datetime
) -> None:
    """Change name, address, kinds, or whether it is told at all."""
    found = dict(changes)
    if "url" in found:
        found["url"] = url_checked(found["url"]).geturl()
    if "kinds" in found:
        found["kinds"] = kinds_checked(found["kinds"])
    if "active" in found:
        found["off_reason"] = "" if found["active"] else "Switched off by hand."
    before = {name: getattr(endpoint, name) for name in found}
    for name, value in found.items():
        setattr(endpoint, name, value)
    endpoint.full_clean()
    _write(endpoint, version, found)
    told = [f"{name} {before[name]} -> {found[name]}" for name in changes]
    _record(endpoint, "; ".join(told)[:2000], actor, now)


@transaction.atomic
def endpoint_rotate(
    *, endpoint: WebhookEndpoint, version: int, overlap: timedelta, actor: User, now: datetime
) -> str:
    """A new secret, shown this once; the one before signs too until the overlap is over."""
    generation = endpoint.secret_generation + 1
    until = now + overlap
    fields = {"secret_generation": generation, "earlier_secret_until": until}
    _write(endpoint, version, fields)
    endpoint.secret_generation, endpoint.earlier_secret_until = generation, until
    told = f"a new secret; the one before holds until {until:%Y-%m-%d %H:%M} UTC"
    _record(endpoint, told, actor, now)
    return secret_of(endpoint)


@transaction.atomic
def endpoint_remove(*, endpoint: WebhookEndpoint, version: int, actor: User, now: datetime) -> None:
    """Take an address away, with what was told to it."""
    _write(endpoint, version, {})
    _record(endpoint, "removed", actor, now)
    endpoint.delete()


def _write(endpoint: WebhookEndpoint, version: int, fields: dict[str, Any]) -> None:
    hit = WebhookEndpoint.objects.filter(pk=endpoint.pk, version=version).update(
        version=F("version") + 1, **fields
    )
    if hit != 1:
        raise EndpointChanged(version=version)
    endpoint.version = version + 1


def _record(endpoint: WebhookEndpoint, changes: str, actor: User, now: datetime) -> None:
    event_record(
        kind="webhook_changed", now=now, actor=actor, subject=endpoint.name, changes=changes
    )
