"""The secret of a webhook: 256 bits derived from the secret key, shown once, never stored.

While it is rotated the one before holds too, and a message carries a signature of each. The same
goes for ``SECRET_KEY_FALLBACKS``: rotate the webhooks' secrets before a fallback is taken away.
"""

from __future__ import annotations

import base64
from datetime import datetime

from django.conf import settings
from django.utils.crypto import salted_hmac
from standardwebhooks import Webhook

from intake.models import WebhookEndpoint

PREFIX = "whsec_"
PURPOSE = "intake.webhook.secret"


def secret_of(endpoint: WebhookEndpoint, *, generation: int = 0, key: str = "") -> str:
    """The secret as it is shown to the owner of the address: ``whsec_`` and base64."""
    value = f"{endpoint.secret_salt}.{generation or endpoint.secret_generation}"
    digest = salted_hmac(
        PURPOSE, value, secret=key or settings.SECRET_KEY, algorithm="sha256"
    ).digest()
    return PREFIX + base64.b64encode(digest).decode()


def secrets_that_hold(endpoint: WebhookEndpoint, *, now: datetime) -> list[str]:
    """Every secret to sign with now, the newest first."""
    generations = [endpoint.secret_generation]
    if endpoint.earlier_secret_until and endpoint.earlier_secret_until > now:
        generations.append(endpoint.secret_generation - 1)
    keys = [settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS]
    return [secret_of(endpoint, generation=one, key=key) for key in keys for one in generations]


def signed_headers(
    endpoint: WebhookEndpoint, *, message_id: str, body: str, now: datetime
) -> dict[str, str]:
    """The headers of Standard Webhooks: id, moment of this try, and a signature of each secret."""
    signatures = [
        Webhook(secret).sign(message_id, now, body)
        for secret in secrets_that_hold(endpoint, now=now)
    ]
    return {
        "webhook-id": message_id,
        "webhook-timestamp": str(int(now.timestamp())),
        "webhook-signature": " ".join(signatures),
    }
