"""A site's record kept: what was used, and what it comes to by the terms in force that day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.contrib.auth.models import User
from django.db import transaction

from intake.events.services import event_record
from intake.models import Organisation
from intake.requests.errors import ServiceRefusal
from quotes.building.options import hired_accessories, set_hired
from quotes.emergency.fuel.facts import set_of
from quotes.emergency.papers.pricing import Costs, Used, costs, hours_used
from quotes.emergency.planning.selectors import deliveries_of, plan_in_force
from quotes.fleet.selectors import accessory_names
from quotes.models import (
    Branch,
    Delivery,
    EmergencyEvent,
    Need,
    SiteRecord,
    SiteRecordLine,
    Unit,
)
from quotes.pricing.job import HiredAccessory
from quotes.pricing.terms import Terms
from quotes.rates.selectors import agreed_for, card_for, terms_for


class NotDelivered(ServiceRefusal):
    code = "not_delivered"
    sentence = "No set of the plan in force stands at this site: there is nothing to record."


@dataclass(frozen=True, slots=True)
class Readings:
    """What the desk enters for one set at one site."""

    started_at: datetime
    stopped_at: datetime
    meter_start: Decimal | None
    meter_end: Decimal | None
    fuel_gallons: Decimal
    labour_hours: Decimal
    note: str


def delivered(event: EmergencyEvent) -> list[tuple[Need, Delivery]]:
    """Every need with each set that the plan in force brought it."""
    return [
        (need, delivery)
        for delivery in deliveries_of(plan_in_force(event))
        for need in delivery.needs.all()
    ]


def owner_of(need: Need) -> Organisation | None:
    """Whose site it is, as far as that is on file."""
    if need.site is not None:
        return need.site.organisation
    return need.request.organisation if need.request is not None else None


def terms_of(need: Need, branch: Branch, on: date) -> Terms:
    """The branch's card on the day, held to what was agreed with the site's organisation."""
    place = need.requirement.get("site", {})
    state = need.site.state if need.site else (need.jurisdiction[:2] or branch.state)
    return terms_for(
        card=card_for(branch=branch, on=on),
        zip_code=str(need.site.zip if need.site else place.get("zip") or branch.zip),
        state=state,
        starts_on=on,
        organisation=owner_of(need),
    )


def costs_of(need: Need, delivery: Delivery, readings: Readings) -> Costs:
    """The lines of a record, by the days of the yard's clock."""
    zone = ZoneInfo(delivery.branch.timezone)
    started, stopped = (
        moment.astimezone(zone) for moment in (readings.started_at, readings.stopped_at)
    )
    terms = terms_of(need, delivery.branch, started.date())
    hours, by_meter = hours_used(started, stopped, readings.meter_start, readings.meter_end)
    used = Used(
        started_at=started,
        stopped_at=stopped,
        hours=hours,
        by_meter=by_meter,
        fuel_gallons=readings.fuel_gallons,
        labour_hours=readings.labour_hours,
        distance_km=delivery.distance_km / terms.road_factor,
    )
    hired = set_hired(set_of(delivery.unit), 1)
    return costs(hired, accessories_of(need, delivery.unit), used, terms)


def accessories_of(need: Need, unit: Unit) -> tuple[HiredAccessory, ...]:
    """What went along with the set, by the sizing that passed."""
    code = unit.set_type.code
    found = [one for one in need.options if one.get("set_code") == code]
    accessories = found[0].get("accessories", []) if found else []
    return hired_accessories({"accessories": accessories}, accessory_names())


@transaction.atomic
def record_keep(
    *, need_id: int, unit_number: str, readings: Readings, actor: User, now: datetime
) -> SiteRecord:
    """Keep the record of one set at one site with its lines.

    Sent again for the same set and start, it is made anew: its lines are worked out again whole.
    """
    need = Need.objects.select_for_update().get(pk=need_id)
    assert need.event is not None
    found = [
        delivery
        for one, delivery in delivered(need.event)
        if one.pk == need.pk and delivery.unit.number == unit_number
    ]
    if not found:
        raise NotDelivered
    worked = costs_of(need, found[0], readings)
    record, _made = SiteRecord.objects.update_or_create(
        need=need,
        unit=found[0].unit,
        started_at=readings.started_at,
        defaults={
            "stopped_at": readings.stopped_at,
            "hours_meter_start": readings.meter_start,
            "hours_meter_end": readings.meter_end,
            "fuel_gallons": readings.fuel_gallons,
            "note": "\n".join([*([readings.note] if readings.note else []), *worked.said]),
            "made_at": now,
            "made_by": actor,
        },
    )
    record.lines.all().delete()
    SiteRecordLine.objects.bulk_create(_rows(record, worked))
    event_record(
        kind="site_recorded", now=now, actor=actor, subject=f"{need.name}, {unit_number}",
        started=f"{readings.started_at:%Y-%m-%d %H:%M}", total=str(worked.total),
    )  # fmt: skip
    return record


def _rows(record: SiteRecord, worked: Costs) -> list[SiteRecordLine]:
    return [
        SiteRecordLine(
            record=record,
            position=position,
            kind=line.kind,
            label=line.label,
            quantity=line.quantity,
            unit=line.unit,
            rate=line.rate,
            amount=line.amount,
            from_at=record.started_at,
            until_at=record.stopped_at,
            why=line.why[:300],
        )
        for position, line in enumerate(worked.lines, start=1)
    ]


def agreed_words(need: Need, on: date) -> str:
    """The emergency terms on file for a site's organisation, in a sentence."""
    organisation = owner_of(need)
    agreed = agreed_for(organisation, on)
    if organisation is None:
        return "No organisation on file: the card's own terms hold."
    if agreed is None:
        return f"No emergency terms on file with {organisation}: the card's own terms hold."
    percent = agreed.uplift_cap_percent.normalize()
    return (
        f"Agreed with {organisation} ({agreed.document_reference}): uplift at most {percent:f} %."
    )
