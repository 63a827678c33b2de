"""What the fuel page and its print tell: rounds a truck, burn a set, and who is not reached."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.utils import timezone

from quotes.documents.facts import COMPANY
from quotes.emergency.cautions import building_cautions
from quotes.emergency.clock import zone_words
from quotes.models import EmergencyEvent, FuelPlan, FuelStop
from sizing.conversions import GALLON_L

Document = dict[str, Any]
FUEL_CAUTIONS = (
    "Filling a set: local fire code and the set's own instructions decide whether it is stopped "
    "first; where they are silent, stop it and let it cool.",
    "No smoking, no open flame; extinguisher and spill kit at hand; hose and set bonded.",
    "Leave room for the fuel to expand: a tank is full at 95 %. Write down what it took.",
)  # common practice, no source


@dataclass(frozen=True, slots=True)
class TruckRound:
    """One truck on one day."""

    truck: str
    day: date
    stops: tuple[FuelStop, ...]

    @property
    def gallons(self) -> Decimal:
        return gallons(sum((s.fuel_l for s in self.stops if s.need_id), Decimal(0)))

    @property
    def rows(self) -> list[tuple[FuelStop, Decimal]]:
        """Each stop with its gallons."""
        return [(stop, gallons(stop.fuel_l)) for stop in self.stops]


def gallons(litres: Decimal | float) -> Decimal:
    """US gallons, to the whole gallon."""
    return (Decimal(str(litres)) / Decimal(str(GALLON_L))).quantize(Decimal(1))


def plan_of(event: EmergencyEvent, number: int | None = None) -> FuelPlan | None:
    """One fuel plan of an event; the newest where no number is given."""
    found = FuelPlan.objects.filter(event=event).select_related("made_by")
    return found.filter(number=number).first() if number else found.order_by("-number").first()


def truck_rounds(plan: FuelPlan) -> list[TruckRound]:
    """The stops by day and truck, in the order they are made, by the clock in force."""
    by_day: dict[tuple[date, str], list[FuelStop]] = {}
    for stop in plan.stops.select_related("need").order_by("arrive_at", "position"):
        day = timezone.localtime(stop.arrive_at).date()
        by_day.setdefault((day, stop.truck), []).append(stop)
    return [
        TruckRound(truck, day, tuple(stops))
        for (day, truck), stops in sorted(by_day.items())
        if any(stop.need_id for stop in stops)
    ]


def fuel_context(event: EmergencyEvent, plan: FuelPlan | None) -> Document:
    """A plan ready to be shown; moments as moments, amounts in gallons."""
    if plan is None:
        return {"event": event, "plan": None}
    result = plan.result
    return {
        "event": event,
        "plan": plan,
        "rounds": truck_rounds(plan),
        "sets": [set_line(one) for one in result["sets"]],
        "short": [short_line(one) for one in result["short"]],
        "lost": result["lost"],
        "burn_gal": gallons(result["burn_l_day"]),
        "planned_gal": gallons(result["planned_l_day"]),
        "delivered_gal": gallons(result["delivered_l"]),
        "miles": round(result["distance_km"] / 1.609344),
        "until": moment(result["until"]),
        "zone": zone_words(ZoneInfo(result["zone"]), plan.made_at),
    }


def clock_of(plan: FuelPlan | None) -> AbstractContextManager[object]:
    """The clock of the yard whose trucks drive: what a driver reads must be the driver's hour."""
    return timezone.override(ZoneInfo(plan.result["zone"])) if plan else nullcontext()


def set_line(one: Document) -> Document:
    return {
        **one,
        "mean_gal_h": round(one["mean_l_h"] / GALLON_L, 1),
        "most_gal_h": round(one["most_l_h"] / GALLON_L, 1),
        "tank_gal": gallons(one["tank_l"]),
        "level_gal": gallons(one["level_l"]),
        "reserve_gal": gallons(one["reserve_l"]),
    }


def short_line(one: Document) -> Document:
    return {
        **one,
        "reserve_at": moment(one["reserve_at"]),
        "dry_at": moment(one["dry_at"]),
        "filled_at": moment(one["filled_at"]),
    }


def moment(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)


def days_asked(event: EmergencyEvent, now: datetime) -> int:
    """Days until the expected end, at least one and at most three; two where none is expected."""
    if event.expected_end is None:
        return 2
    left: timedelta = event.expected_end - now
    return min(3, max(1, left.days + 1))


# ---- print -------------------------------------------------------------------------------------


def fuel_facts(event: EmergencyEvent, plan: FuelPlan) -> Document:
    """All that the print says, dates and amounts already written."""
    with clock_of(plan):
        return _facts(event, plan)


def _facts(event: EmergencyEvent, plan: FuelPlan) -> Document:
    shown = fuel_context(event, plan)
    company = COMPANY.first()
    return {
        "event": event.name,
        "code": event.code,
        "number": plan.number,
        "made": written(plan.made_at),
        "zone": shown["zone"],
        "until": written(shown["until"]),
        "company": company.name if company else "",
        "phone": (company.emergency_phone or company.phone) if company else "",
        "totals": f"{shown['delivered_gal']} gal delivered, {shown['miles']} miles",
        "rounds": [_round_facts(one) for one in shown["rounds"]],
        "short": [short_sentence(one) for one in shown["short"]],
        "lost": list(shown["lost"]),
        "cautions": [*FUEL_CAUTIONS, *map(str, building_cautions())],
    }


def _round_facts(one: TruckRound) -> Document:
    return {
        "truck": one.truck,
        "day": f"{one.day:%A %B} {one.day.day}",
        "gallons": f"{one.gallons}",
        "stops": [
            {
                "at": f"{timezone.localtime(stop.arrive_at):%H:%M}",
                "leave": f"{timezone.localtime(stop.leave_at):%H:%M}",
                "where": stop.need.name if stop.need else stop_words(one.stops, stop),
                "place": stop.need.place if stop.need else "",
                "phone": f"{stop.need.contact_name}, {stop.need.night_phone}" if stop.need else "",
                "unit": stop.note,
                "gallons": f"{gallons(stop.fuel_l)}" if stop.need or stop.fuel_l else "",
            }
            for stop in one.stops
        ],
    }


def stop_words(stops: Iterable[FuelStop], stop: FuelStop) -> str:
    return "Load at the yard" if stop.fuel_l else "Back at the yard"


def short_sentence(one: Document) -> str:
    """What happens at a site nobody reaches in time, hour by hour."""
    words = f"{one['need']}, set {one['unit']}: at its reserve {written(one['reserve_at'])}"
    if one["dry_at"]:
        words += f", dry {written(one['dry_at'])}"
    if one["filled_at"]:
        return f"{words}; the first truck comes {written(one['filled_at'])}."
    return f"{words}; no truck of this plan comes."


def written(value: datetime | None) -> str:
    if value is None:
        return ""
    local = timezone.localtime(value)
    return f"{local:%b} {local.day}, {local:%H:%M}"
