"""Taking a reading, and telling both sides what stands out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from decimal import Decimal
from itertools import pairwise
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext as _

from intake.events.services import event_record
from intake.outbox.services import outbox_put
from quotes.fleet.selectors import sets_by_code
from quotes.handover.errors import ReadingRefused
from quotes.handover.plan import LIGHT_PERCENT, Note, Plan, Seen, notes_on
from quotes.handover.units import WITH_ALL, option_of
from quotes.models import OutUnit, Reading
from quotes.pricing.job import Refuelling
from sizing.fleet import GeneratorSet
from sizing.requirement import read_requirement


@dataclass(frozen=True, slots=True)
class Entered:
    """A reading as it was entered."""

    client_key: UUID
    engine_hours: Decimal
    fuel_percent: int
    load_kw: Decimal | None = None
    filled: bool = False
    pumped_l: Decimal | None = None


@transaction.atomic
def reading_add(
    *, out_unit_id: int, entered: Entered, by: str, actor: User | str, now: datetime
) -> tuple[Reading, bool]:
    """Keep a reading with its notes; sent twice it is kept once. Notes are mailed to both sides."""
    out = OutUnit.objects.select_related(*WITH_ALL).get(pk=out_unit_id)
    OutUnit.objects.select_for_update(of=("self",)).get(pk=out.pk)
    known = Reading.objects.filter(client_key=entered.client_key, out_unit=out).first()
    if known is not None:
        return known, False
    seen = seen_of(out)
    _refuse_implausible(out, seen, entered, now)
    last = Seen(
        now,
        float(entered.engine_hours),
        entered.fuel_percent,
        None if entered.load_kw is None else float(entered.load_kw),
        entered.filled,
    )
    notes = notes_on(plan_of(out), [*seen, last])
    reading = Reading(
        out_unit=out,
        client_key=entered.client_key,
        at=now,
        engine_hours=entered.engine_hours,
        fuel_percent=entered.fuel_percent,
        load_kw=entered.load_kw,
        by=by,
        filled=entered.filled,
        pumped_l=entered.pumped_l,
        notes=[[note.code, note.text] for note in notes],
    )
    reading.full_clean(exclude=["out_unit"])
    reading.save(force_insert=True)
    _tell(out, reading, notes, actor, now)
    return reading, True


def _refuse_implausible(out: OutUnit, seen: list[Seen], entered: Entered, now: datetime) -> None:
    """An hour meter never runs back, and never faster than the clock."""
    if out.ended_at is not None:
        raise ReadingRefused(_("This unit is not out any more."))
    if not seen:
        raise ReadingRefused(_("This unit is not signed for yet; readings start with that."))
    hours, last = float(entered.engine_hours), seen[-1]
    if hours < last.engine_hours:
        raise ReadingRefused(
            _("The meter stood at %(last).1f h before. Read it again; it never runs back.")
            % {"last": last.engine_hours}
        )
    most = last.engine_hours + (now - last.at) / timedelta(hours=1) + 1
    if hours > most:
        raise ReadingRefused(
            _("Since the last reading it cannot have passed %(most).1f h. Read the meter again.")
            % {"most": most}
        )


def _tell(
    out: OutUnit, reading: Reading, notes: list[Note], actor: User | str, now: datetime
) -> None:
    event_record(
        kind="reading_added",
        now=now,
        actor=actor,
        request=out.order.request,
        subject=out.unit.number,
        by=reading.by,
        hours=str(reading.engine_hours),
        fuel=reading.fuel_percent,
        notes=" ".join(note.text for note in notes),
    )
    if notes:
        outbox_put(
            topic="quotes.mail_hire_note",
            payload={"reading_id": reading.pk},
            queue="mail",
            now=now,
        )


def seen_of(out: OutUnit) -> list[Seen]:
    """The reading at delivery and those since, in order."""
    delivered = out.sign_offs.filter(kind="delivery").first()
    first = [_seen(delivered, delivered.signed_at)] if delivered else []
    return first + [_seen(one, one.at, one.load_kw, one.filled) for one in out.readings.all()]


def _seen(row: Any, at: datetime, load_kw: Decimal | None = None, filled: bool = False) -> Seen:
    load = None if load_kw is None else float(load_kw)
    return Seen(at, float(row.engine_hours), row.fuel_percent, load, filled)


def plan_of(out: OutUnit) -> Plan:
    """What was sized and quoted for a unit."""
    quote, option = out.order.quote, option_of(out.order.quote)
    set_ = sets_by_code()[out.unit.set_type.code]
    units = sum(int(one["quantity"]) for one in option["sets"])
    hours = float(option.get("running_hours_per_day") or 24.0)
    site_kw = float(option["site_kw"]) / units
    requirement = read_requirement(quote.run.requirement)
    owner_refuels = quote.choices.get("refuelling") == Refuelling.OWNER
    assert quote.branch is not None
    zone = ZoneInfo(quote.branch.timezone)
    return Plan(
        site_kw=site_kw,
        running_hours_per_day=hours,
        burn_l_h=float(option.get("fuel_l_per_day") or 0.0) / units / hours,
        light_burn_l_h=burn_at(set_, LIGHT_PERCENT / 100 * site_kw),
        tank_l=set_.tank_l,
        reserve_l=set_.tank_l * (1 - set_.usable_tank_fraction),
        visit_every_h=requirement.site.refuel_every_h.likely if owner_refuels else None,
        ends_at=datetime.combine(out.booking.ends_on, time(23, 59), tzinfo=zone),
    )


def burn_at(set_: GeneratorSet, kw: float) -> float:
    """Burn at a load [L/h], straight between the quarters of the set's record."""
    quarters = [(0.25 * n * set_.prime_kw, burn) for n, burn in enumerate(set_.fuel_l_h, 1)]
    if kw <= quarters[0][0]:
        return quarters[0][1] * kw / quarters[0][0]
    for (low_kw, low), (high_kw, high) in pairwise(quarters):
        if kw <= high_kw:
            return low + (high - low) * (kw - low_kw) / (high_kw - low_kw)
    return quarters[-1][1]
