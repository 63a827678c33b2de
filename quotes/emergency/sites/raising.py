"""In the event: the ticked sites become needs, by one press, once however often it is pressed."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import translation

from intake.desk.promise import promised_at
from intake.events.services import event_record
from intake.models import HireRequest
from intake.outbox.services import outbox_put
from intake.questions.towns import town
from quotes.emergency.express.asked import Asked, is_life_safety
from quotes.emergency.fitness import against_version
from quotes.emergency.needs import (
    NOT_SIZED,
    SIZE_QUEUE,
    SIZE_TOPIC,
    connection_note,
    event_at,
    person_reasons,
)
from quotes.emergency.paging.services import need_page
from quotes.emergency.ranks.selectors import kinds_in, rank_among
from quotes.emergency.requesting import emergency_request
from quotes.emergency.sites.fields import GROUPS
from quotes.emergency.sites.sizing import site_requirement
from quotes.fleet.selectors import fleet_for_sizing
from quotes.models import OPEN_NEED_STATES, Need, PublicBody, StandingSite

CONNECTION = (
    "supply", "phases_note", "main_breaker_a", "service_note", "transfer_equipment",
    "transfer_note", "connection", "lead_length_m", "route_note", "connect_material_note",
    "access_note", "ground_note", "noise_note", "fuel_note", "existing_set_note", "hazards_note",
    "sketch_note", "second_contact", "second_phone",
)  # fmt: skip


@transaction.atomic
def needs_raise(
    *, body: PublicBody, keys: Iterable[str], need_by: datetime, now: datetime
) -> list[Need]:
    """Make a need of each ticked site that has none open; returns the needs that now stand.

    1. Lock the sites, so that two presses come one after the other. 2. Sites asked for before
    keep their need. 3. Each other site gets its need; one that a person must look at also a
    request with its case. 4. One call to the duty rep, that tells of all of them.
    """
    sites = list(
        StandingSite.objects.select_for_update()
        .filter(organisation=body.organisation, archived_at=None, key__in=list(keys))
        .order_by("pk")
    )
    open_needs = Need.objects.filter(site__in=sites, state__in=OPEN_NEED_STATES)
    standing = {need.site_id: need for need in open_needs}
    current = against_version(fleet_for_sizing())
    fresh = [_need(body, site, need_by, current, now) for site in sites if site.pk not in standing]
    if fresh:
        fresh.sort(key=lambda need: (need.rank, need.need_by, need.pk))
        need_page(need=fresh[0], now=now, also=tuple(need.pk for need in fresh[1:]))
    return [*standing.values(), *fresh]


def _need(
    body: PublicBody, site: StandingSite, need_by: datetime, current: str, now: datetime
) -> Need:
    ranked = rank_among(site.facility_kind, kinds_in(site.state, site.county))
    life_safety = is_life_safety(ranked.rank, site.facility_kind)
    sized = site.sized_against == current
    reasons = person_reasons(life_safety=life_safety, transfer_equipment=site.transfer_equipment)
    reasons += site.sizing.get("person", []) if sized else [NOT_SIZED]
    need = Need(
        event=event_at(site.state, site.county),
        site=site,
        key=site.key,
        name=f"{body.organisation.name}: {site.name}"[:200],
        facility_kind=site.facility_kind,
        rank=ranked.rank,
        rank_reason=ranked.reason,
        need_by=need_by,
        place=f"{site.street} {site.zip} {town(site.zip)}".strip()[:300],
        jurisdiction=f"{site.state}-{site.county}" if site.county else site.state,
        latitude=site.latitude,
        longitude=site.longitude,
        requirement=site_requirement(site),
        options=site.options if sized else [],
        findings=site.findings if sized else [],
        sized_at=site.sized_at if sized else None,
        sized_against=site.sized_against if sized else "",
        life_safety=life_safety,
        transfer_equipment=site.transfer_equipment,
        connection_data=connection_of(site),
        contact_name=site.contact_name,
        night_phone=site.night_phone,
        state_at=now,
        needs_person=bool(reasons),
        person_reason="\n".join(reasons),
        call_back_by=promised_at(now=now, urgent=True) if reasons else None,
        accepted_at=now,
    )
    if reasons:
        need.request = _request(body, site, need, now)
    need.clean_fields(exclude=["request", "event", "site"])
    need.save()
    if need.request is not None or not sized:
        outbox_put(topic=SIZE_TOPIC, payload={"need_id": need.pk}, queue=SIZE_QUEUE, now=now)
    event_record(
        kind="need_accepted", now=now, actor=body.organisation.name[:120], request=need.request,
        subject=need.name[:120], rank=need.rank, need_by=need_by.isoformat(timespec="minutes"),
    )  # fmt: skip
    return need


def connection_of(site: StandingSite) -> dict[str, Any]:
    """What an order needs to know of the hook-up; empty fields are left out."""
    found = {name: getattr(site, name) for name in CONNECTION}
    return {
        name: value if isinstance(value, int | str) else str(value)
        for name, value in found.items()
        if value not in (None, "")
    }


def _request(body: PublicBody, site: StandingSite, need: Need, now: datetime) -> HireRequest:
    """A request with its case, first in the queue: what needs a person must reach one."""
    asked = Asked(
        facility_kind=site.facility_kind,
        need_by=need.need_by,
        life_support="yes" if need.life_safety else "no",
        load="",
        main_breaker_a=site.main_breaker_a,
        supply=site.supply,
        transfer_equipment=site.transfer_equipment,
        zip=site.zip,
        place=f"{site.name}, {site.street}".strip(", ")[:200],
        company=body.organisation.name[:120],
        contact_name=site.contact_name,
        phone=site.night_phone,
        email=body.contact_email,
        language=body.language,
    )
    opened = emergency_request(
        asked=asked,
        organisation=body.organisation,
        loads=need.requirement["loads"],
        more=_more(site, need, body.language),
        now=now,
    )
    return opened.request


def _more(site: StandingSite, need: Need, language: str) -> dict[str, str]:
    """What is on file beyond an express request, the hook-up as a note for desk and order."""
    with translation.override(language):
        labels = {
            name: str(made().label) for _title, fields in GROUPS for name, made in fields.items()
        }
    found = {"refuel_every": "24"}
    note = connection_note(need.connection_data, labels)
    if note:
        found["note"] = note
    if site.second_contact:
        found["site_contact"] = f"{site.second_contact} {site.second_phone}".strip()
    if site.altitude_m is not None:
        found["altitude"] = f"{site.altitude_m} m"
    if site.lead_length_m is not None:
        found["lead_length"] = f"{site.lead_length_m} m"
    return found
