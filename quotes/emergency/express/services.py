"""Taking an express request: at once, in one transaction, whatever the queues are doing."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import IntegrityError, OperationalError, transaction

from intake.events.services import event_record
from intake.models import HireRequest, Organisation
from intake.outbox.services import outbox_put
from intake.questions.towns import town, zip_record
from intake.requests.links import link_token
from quotes.emergency.express.asked import Asked, is_life_safety, panel_of, sending_key
from quotes.emergency.needs import (
    NOT_SIZED,
    SIZE_QUEUE,
    SIZE_TOPIC,
    county_of,
    event_at,
    person_reasons,
    position_of,
)
from quotes.emergency.paging.services import need_page
from quotes.emergency.ranks.selectors import rank_in
from quotes.emergency.requesting import Opened, emergency_request
from quotes.models import Need

TRIES = 3


def express_accept(
    *, asked: Asked, organisation: Organisation | None, form_key: UUID, now: datetime
) -> tuple[HireRequest, str]:
    """Take an express request; returns it with the token of its link.

    The same form with the same content is one request, however often it is sent.
    """
    key = sending_key(asked, form_key)
    for left in reversed(range(TRIES)):
        try:
            request = _accept(asked, organisation, key, now)
            break
        except IntegrityError:  # another process took the same sending a moment ago
            request = Need.objects.get(client_key=key).request_or_fail
            break
        except OperationalError:  # the database was busy too long; the key makes it safe to repeat
            if not left:
                raise
    return request, link_token(request.reference, request.link_generation)


@transaction.atomic
def _accept(
    asked: Asked, organisation: Organisation | None, key: UUID, now: datetime
) -> HireRequest:
    """1. The request and its case, first in the queue. 2. The need. 3. The call, and the rest."""
    before = Need.objects.filter(client_key=key).select_related("request").first()
    if before is not None:
        return before.request_or_fail
    opened = emergency_request(
        asked=asked, organisation=organisation, loads=[panel_of(asked)], more={}, now=now
    )
    need = _need(asked, opened, key, now)
    event_record(
        kind="need_accepted", now=now, actor="customer", request=opened.request,
        subject=need.name[:120], rank=need.rank,
        need_by=need.need_by.isoformat(timespec="minutes"),
    )  # fmt: skip
    need_page(need=need, now=now)
    outbox_put(topic=SIZE_TOPIC, payload={"need_id": need.pk}, queue=SIZE_QUEUE, now=now)
    if asked.email:
        payload = {"request_id": opened.request.pk, "letter": "in_review"}
        outbox_put(topic="intake.mail_customer", payload=payload, queue="mail", now=now)
    return opened.request


def _need(asked: Asked, opened: Opened, key: UUID, now: datetime) -> Need:
    state, county = str(zip_record(asked.zip).get("state") or ""), county_of(asked.zip)
    ranked = rank_in(asked.facility_kind, state=state, county=county)
    life_safety = is_life_safety(ranked.rank, asked.facility_kind, asked.life_support)
    reasons = person_reasons(life_safety=life_safety, transfer_equipment=asked.transfer_equipment)
    latitude, longitude = position_of(asked.zip)
    need = Need(
        event=event_at(state, county),
        request=opened.request,
        key=opened.request.reference,
        client_key=key,
        name=f"{asked.company or asked.contact_name}: {asked.place or town(asked.zip)}"[:200],
        facility_kind=asked.facility_kind,
        rank=ranked.rank,
        rank_reason=ranked.reason,
        need_by=asked.need_by,
        place=f"{asked.place} {asked.zip} {town(asked.zip)}".strip()[:300],
        jurisdiction=f"{state}-{county}" if county else state,
        latitude=latitude,
        longitude=longitude,
        requirement=opened.run.requirement,
        life_safety=life_safety,
        transfer_equipment=asked.transfer_equipment,
        connection_data=_connection(asked),
        contact_name=asked.contact_name,
        night_phone=asked.phone,
        state_at=now,
        needs_person=True,  # till a worker has sized it, and after that where a reason is left
        person_reason="\n".join([*reasons, NOT_SIZED]),
        call_back_by=opened.case.promised_at,
        accepted_at=now,
    )
    need.clean_fields(exclude=["request", "event"])
    need.save()
    return need


def _connection(asked: Asked) -> dict[str, Any]:
    """What the order needs to know of the hook-up, as far as it was asked."""
    kept = ("supply", "transfer_equipment", "load", "main_breaker_a")
    said = asdict(asked)
    return {name: said[name] for name in kept if said[name] not in (None, "")}
