"""What the papers of an event tell: per site what was asked, what ran, and what it cost.

The columns are what public guidance on reimbursement asks to be kept of equipment: type and
capacity, where and for what it was used, dates and hours, rate, operator's hours, fuel. Source:
FEMA Public Assistance Program and Policy Guide and force account equipment record, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.utils import timezone

from quotes.documents.facts import COMPANY
from quotes.emergency.cautions import building_cautions
from quotes.emergency.clock import need_zone, zone_words
from quotes.emergency.hookup import HookUp, hook_up
from quotes.emergency.papers.pricing import hours_used
from quotes.emergency.papers.services import agreed_words, delivered
from quotes.emergency.planning.selectors import deliveries_of, plan_in_force
from quotes.models import (
    OPEN_NEED_STATES,
    Delivery,
    EmergencyEvent,
    Need,
    SiteRecord,
    Unit,
)
from quotes.pricing.money import dollars, total

Document = dict[str, Any]
COLUMNS = (
    "event", "site", "facility_kind", "rank", "place", "contact", "asked_at", "need_by", "set",
    "equipment_type", "capacity_kw", "started_at", "stopped_at", "meter_start", "meter_end",
    "hours_used", "hours_by", "fuel_gallons", "line", "kind", "description", "quantity", "unit",
    "rate_usd", "amount_usd", "worked_out", "remarks",
)  # fmt: skip
NO_TAX = "Before tax. A cost record, not an invoice: the invoice and the organisation's own rules "
NO_TAX += "decide what is paid and what is reimbursed."


@dataclass(frozen=True, slots=True)
class SetPaper:
    """One set at one site, with its records."""

    need: Need
    delivery: Delivery | None
    unit_number: str
    records: tuple[SiteRecord, ...]
    agreed: str

    @property
    def zone(self) -> ZoneInfo:
        """Whose clock its times are told and typed by: the site's."""
        return need_zone(self.need)

    @property
    def hook_up(self) -> HookUp:
        """What the set connects to."""
        return hook_up(self.need)

    @property
    def zone_said(self) -> str:
        return zone_words(self.zone, self.need.accepted_at)

    @property
    def total(self) -> Decimal:
        return total(line.amount for one in self.records for line in one.lines.all())


def records_of(event: EmergencyEvent) -> list[SiteRecord]:
    """All records of an event with their lines, in the order of sites and starts."""
    found = SiteRecord.objects.filter(need__event=event).select_related(
        "need__event",
        "need__site__organisation",
        "need__request__organisation",
        "unit__set_type",
        "made_by",
    )
    return list(found.prefetch_related("lines").order_by("need__rank", "need__name", "started_at"))


def set_papers(event: EmergencyEvent, now: datetime) -> list[SetPaper]:
    """Each set the plan in force brought, and each record of a set that has left since."""
    by_set: dict[tuple[int, str], list[SiteRecord]] = {}
    for record in records_of(event):
        number = record.unit.number if record.unit else ""
        by_set.setdefault((record.need_id, number), []).append(record)
    papers = []
    for need, delivery in delivered(event):
        number = delivery.unit.number
        kept = by_set.pop((need.pk, number), [])
        papers.append(SetPaper(need, delivery, number, tuple(kept), agreed_words(need, now.date())))
    for (_need, number), kept in by_set.items():
        need = kept[0].need
        papers.append(SetPaper(need, None, number, tuple(kept), agreed_words(need, now.date())))
    return sorted(papers, key=lambda one: (one.need.rank, one.need.name, one.unit_number))


def hours_of(record: SiteRecord) -> tuple[Decimal, str]:
    """Hours of a record, and what counted them."""
    if record.stopped_at is None:
        return Decimal(0), "still running"
    hours, by_meter = hours_used(
        record.started_at, record.stopped_at, record.hours_meter_start, record.hours_meter_end
    )
    return hours, "hour meter" if by_meter else "clock"


def csv_rows(event: EmergencyEvent) -> Iterator[list[object]]:
    """One row a line of every record; times with their offset."""
    for record in records_of(event):
        need, unit = record.need, record.unit
        hours, by = hours_of(record)
        zone = need_zone(need)
        head: list[object] = [
            event.name, need.name, need.facility_kind, need.rank, need.place,
            f"{need.contact_name}, {need.night_phone}", _stamp(need.accepted_at, zone),
            _stamp(need.need_by, zone), unit.number if unit else "",
            f"generator set {unit.set_type.code}" if unit else "",
            unit.set_type.prime_kw if unit else "", _stamp(record.started_at, zone),
            _stamp(record.stopped_at, zone), record.hours_meter_start, record.hours_meter_end,
            hours, by, record.fuel_gallons,
        ]  # fmt: skip
        for line in record.lines.all():
            yield [
                *head, line.position, line.get_kind_display(), line.label, line.quantity,
                line.unit, line.rate, line.amount, line.why, record.note,
            ]  # fmt: skip


def _stamp(moment: datetime | None, zone: ZoneInfo) -> str:
    return moment.astimezone(zone).isoformat(timespec="minutes") if moment else ""


def site_facts(need: Need) -> Document:
    """All that the paper of a site says before anything was used: request, hook-up, set."""
    with timezone.override(need_zone(need)):
        return {**_request_facts(need), "title": "Site paper", "planned": _planned(need)}


def record_facts(event: EmergencyEvent, record: SiteRecord) -> Document:
    """All that the print of one record says, dates and money already written."""
    with timezone.override(need_zone(record.need)):
        return {
            **_request_facts(record.need),
            "title": "Request and cost record",
            **_used_facts(record),
        }


def _request_facts(need: Need) -> Document:
    company, known = COMPANY.first(), hook_up(need)
    return {
        "event": need.event.name if need.event else "",
        "site": need.name,
        "place": need.place,
        "kind": need.facility_kind.replace("_", " "),
        "rank": need.get_rank_display(),
        "rank_reason": need.rank_reason,
        "contact": f"{need.contact_name}, {need.night_phone}",
        "asked": _written(need.accepted_at),
        "need_by": _written(need.need_by),
        "hook_up": [
            *[list(row) for row in known.rows],
            *([["Still to ask", ", ".join(known.asked)]] if known.asked else []),
        ],
        "who": list(known.who),
        "waits": need.person_reason.split("\n") if need.waits_for_person else [],
        "company": company.name if company else "",
        "phone": (company.emergency_phone or company.phone) if company else "",
        "cautions": [str(one) for one in building_cautions()],
        "planned": [],
        "unit": "",
    }


def _planned(need: Need) -> list[str]:
    """The sets that the plan in force sends there."""
    if need.event is None or need.state not in OPEN_NEED_STATES:
        return []
    return [
        f"{_equipment(one.unit)}, set {one.unit.number}, from {one.branch}: "
        f"leaves {_written(one.depart_at)}, runs {_written(one.arrive_at)}"
        for one in deliveries_of(plan_in_force(need.event))
        if any(other.pk == need.pk for other in one.needs.all())
    ]


def _equipment(unit: Unit) -> str:
    return f"generator set {unit.set_type.code}, {unit.set_type.prime_kw.normalize():f} kW"


def _used_facts(record: SiteRecord) -> Document:
    unit, lines = record.unit, list(record.lines.all())
    hours, by = hours_of(record)
    return {
        "unit": unit.number if unit else "-",
        "type": _equipment(unit) if unit else "-",
        "started": _written(record.started_at),
        "stopped": _written(record.stopped_at),
        "meter": _meter(record),
        "hours": f"{hours.normalize():f} h by the {by}",
        "fuel": f"{(record.fuel_gallons or Decimal(0)).normalize():f} gal",
        "lines": [
            {
                "kind": line.get_kind_display(),
                "label": line.label,
                "quantity": f"{line.quantity.normalize():f} {line.unit}".strip(),
                "rate": dollars(line.rate),
                "amount": dollars(line.amount),
                "why": line.why,
            }
            for line in lines
        ],
        "total": dollars(total(line.amount for line in lines)),
        "note": record.note,
        "agreed": agreed_words(record.need, record.started_at.date()),
        "no_tax": NO_TAX,
    }


def _meter(record: SiteRecord) -> str:
    if record.hours_meter_start is None or record.hours_meter_end is None:
        return "not read"
    return f"{record.hours_meter_start} to {record.hours_meter_end} h"


def _written(moment: datetime | None) -> str:
    if moment is None:
        return "-"
    local = timezone.localtime(moment)
    return f"{local:%b} {local.day}, {local.year}, {local:%H:%M %Z}"
