"""An order of the demo company, and what a driver's phone sends about it."""

from __future__ import annotations

import io
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from quotes.acceptance.services import Signature, quote_accept
from quotes.handover.checklist import items_of
from quotes.handover.signing import Signed, sign_off_receive
from quotes.handover.units import job_of_unit
from quotes.models import Order, OutUnit, SignOff
from tests.quotes.cast import NOW, quoted

DELIVERED = datetime(2027, 6, 1, 14, 0, tzinfo=NOW.tzinfo)  # first day of hire: 1 June 2027
HOURS = Decimal("1200.0")


def ordered(story: str = "dewatering", **more: Any) -> Order:
    quote = quoted(story, **more)
    return quote_accept(
        quote_id=quote.pk,
        terms_version=quote.terms_version,
        signature=Signature(name="Ada Story"),
        now=NOW,
    )


def out_of(order: Order) -> OutUnit:
    return order.out_units.filter(ended_at=None).get()


def picture(color: str = "gray") -> SimpleUploadedFile:
    out = io.BytesIO()
    Image.new("RGB", (64, 48), color).save(out, "JPEG")
    return SimpleUploadedFile("gauge.jpg", out.getvalue(), "image/jpeg")


def driver() -> User:
    return User.objects.get_or_create(username="dee", defaults={"first_name": "Dee"})[0]


def signed_for(out: OutUnit, kind: str = "delivery", **more: Any) -> Signed:
    usual: dict[str, Any] = {
        "client_key": uuid4(),
        "kind": kind,
        "name": "Ada Story",
        "connector": "Ed Wire",
        "engine_hours": HOURS,
        "fuel_percent": 100,
        "signed_at": DELIVERED,
        "ticked": frozenset(items_of(job_of_unit(out), kind)),
    }
    return Signed(**{**usual, **more})


def sign(
    out: OutUnit, kind: str = "delivery", *, now: datetime = DELIVERED, **more: Any
) -> SignOff:
    signed = signed_for(out, kind, **{"signed_at": now, **more})
    made, _new = sign_off_receive(
        out_unit_id=out.pk, signed=signed, photos={}, driver=driver(), now=now
    )
    return made


def days(count: float) -> datetime:
    """A moment of the hire, so many days after delivery."""
    return DELIVERED + timedelta(days=count)
