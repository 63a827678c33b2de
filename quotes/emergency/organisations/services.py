"""Public bodies: entered by the owner, signed in by an unguessable link.

The link's token is derived from the secret key and stored only as a hash, as a request's is.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.urls import reverse

from intake.models import Organisation, OutboxMessage
from intake.outbox.services import outbox_put
from intake.requests.errors import LinkRefused
from intake.requests.links import derived_token, token_hash
from quotes.models import PublicBody

COOKIE = "__Secure-body_key" if settings.HTTPS_ONLY else "body_key"
LINK_DAYS = 730
TOPIC = "quotes.mail_body_link"
LETTERS_AN_HOUR = 3


@dataclass(frozen=True, slots=True)
class BodyContact:
    """Who answers for a public body, by day and at night."""

    name: str
    email: str
    night_phone: str


def body_token(organisation_id: int, generation: int) -> str:
    """The token of a body's link; the same every time it is asked for."""
    return derived_token("quotes.public_body.link", organisation_id, generation)


def body_link(body: PublicBody) -> str:
    """The link that signs a public body in on any device."""
    token = body_token(body.organisation_id, body.link_generation)
    return f"{settings.SETWRIGHT_SITE_URL}{reverse('quotes:body_enter', args=[token])}"


def body_by_token(token: str, *, now: datetime) -> PublicBody:
    """The body a token opens, or ``LinkRefused`` where it is unknown, revoked or expired."""
    found = (
        PublicBody.objects.select_related("organisation")
        .filter(token_hash=token_hash(token))
        .first()
    )
    if found is None or found.link_expires_at <= now:
        raise LinkRefused
    return found


@transaction.atomic
def body_register(
    *,
    organisation: Organisation,
    contact: BodyContact,
    now: datetime,
    jurisdiction: str = "",
    language: str = "en",
) -> PublicBody:
    """Enter a public body and send its contact the link."""
    body = PublicBody(
        organisation=organisation,
        token_hash=token_hash(body_token(organisation.pk, 1)),
        link_expires_at=now + timedelta(days=LINK_DAYS),
        contact_name=contact.name,
        contact_email=contact.email,
        night_phone=contact.night_phone,
        jurisdiction=jurisdiction,
        language=language,
        created_at=now,
    )
    body.full_clean()
    body.save()
    Organisation.objects.filter(pk=organisation.pk).update(public_body=True)
    outbox_put(topic=TOPIC, payload={"body_id": body.pk}, queue="mail", now=now)
    return body


@transaction.atomic
def body_link_renew(*, body: PublicBody, now: datetime) -> PublicBody:
    """Revoke the old link and send a new one."""
    body.link_generation += 1
    body.token_hash = token_hash(body_token(body.organisation_id, body.link_generation))
    body.link_expires_at = now + timedelta(days=LINK_DAYS)
    body.save(update_fields=["link_generation", "token_hash", "link_expires_at"])
    outbox_put(topic=TOPIC, payload={"body_id": body.pk}, queue="mail", now=now)
    return body


@transaction.atomic
def body_link_ask(*, address: str, now: datetime) -> None:
    """Send the link again to a contact on file; to any other address nothing, in silence."""
    for body in PublicBody.objects.filter(contact_email__iexact=address):
        recent = OutboxMessage.objects.filter(
            topic=TOPIC, payload__body_id=body.pk, created_at__gt=now - timedelta(hours=1)
        )
        if body.link_expires_at > now and recent.count() < LETTERS_AN_HOUR:
            outbox_put(topic=TOPIC, payload={"body_id": body.pk}, queue="mail", now=now)
