"""The demo company and requests of its stories, for the tests of quoting."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

import demo_fixtures
from intake.models import Answer, HireRequest, OutboxMessage, SizingRun, Status
from intake.outbox.services import outbox_put
from intake.requests.starting import request_start
from quotes.building.services import TOPIC, quote_build
from quotes.models import Quote
from sizing.fleet import read_fleet
from sizing.recommend import recommend
from sizing.requirement import read_requirement

NOW = datetime(2027, 5, 10, 15, 0, tzinfo=UTC)
CONTACT = {
    "contact_name": "Ada Story",
    "company": "Alder Works",
    "email": "ada@alder.example",
    "phone": "+13035550100",
}


@lru_cache(maxsize=16)
def sized(story: str) -> str:
    """A story's result as JSON text, worked out once."""
    fleet = read_fleet(demo_fixtures.fleet_path())
    return json.dumps(recommend(read_requirement(demo_fixtures.story(story)), fleet).document())


def clock() -> datetime:
    return NOW


def request_in_pricing(
    story: str = "dewatering", *, now: datetime = NOW, hire: dict[str, str] | None = None
) -> HireRequest:
    """A request that was sent and found clear, with its sizing run."""
    request, _token = request_start(language="en", now=now)
    for key, value in CONTACT.items():
        Answer.objects.create(request=request, key=key, value=value, updated_at=now)
    result: dict[str, Any] = json.loads(sized(story))
    requirement = {**demo_fixtures.story(story), **({"hire": hire} if hire else {})}
    SizingRun.objects.create(
        request=request,
        number=1,
        requirement=requirement,
        result=result,
        outcome=result["outcome"],
        fleet_digest="-",
        tables_digest="-",
        code_version="-",
        made_at=now,
    )
    HireRequest.objects.filter(pk=request.pk).update(status=Status.PRICING, submitted_at=now)
    request.refresh_from_db()
    return request


@dataclass(frozen=True)
class Asked:
    """A message that asks for a quote."""

    id: UUID
    request_id: int


def quote_asked(request: HireRequest, *, now: datetime = NOW) -> Asked:
    with transaction.atomic():
        payload = {"request_id": request.pk, "run_number": 1}
        message = outbox_put(topic=TOPIC, payload=payload, queue="quotes", now=now)
    return Asked(message.pk, request.pk)


def deliver(asked: Asked, *, now: datetime = NOW, **extra: Any) -> bool:
    """Hand the message to the handler, as a worker does."""
    return quote_build(
        message_id=asked.id,
        request_id=asked.request_id,
        run_number=1,
        extra=extra,
        clock=lambda: now,
    )


def deliver_all(*, now: datetime = NOW) -> None:
    """Hand over every message that asks for a quote and is not done."""
    for message in OutboxMessage.objects.filter(topic=TOPIC, done_at=None):
        payload = dict(message.payload)
        quote_build(
            message_id=message.pk,
            request_id=payload.pop("request_id"),
            run_number=payload.pop("run_number"),
            extra=payload,
            clock=lambda: now,
        )


def quoted(story: str = "dewatering", *, now: datetime = NOW, **more: Any) -> Quote:
    """An open offer of a story."""
    request = request_in_pricing(story, now=now, **more)
    deliver(quote_asked(request, now=now), now=now)
    return Quote.objects.get(request=request)


def fresh_id() -> UUID:
    return uuid4()
