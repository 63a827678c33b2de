"""The options of a sizing run, and each as a job to price."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from quotes.fleet.selectors import sets_by_code
from quotes.models import AccessoryType
from quotes.pricing.job import (
    Adjustment,
    Choices,
    Connection,
    Cover,
    Delivery,
    HiredAccessory,
    HiredSet,
    Job,
    Refuelling,
)
from sizing.fleet import GeneratorSet

DIESEL_KG_PER_L = Decimal("0.85")  # the upper end of EN 590, 0.820 to 0.845, rounded up
Document = Mapping[str, Any]


def options_of(result: Document) -> list[Document]:
    """The recommendation first, then the alternatives; empty where nothing fits."""
    first = result.get("recommendation")
    return [first, *result.get("alternatives", [])] if first else []


def allowed(option: Document) -> bool:
    """Whether every check that binds has passed: only then may the customer choose it."""
    return all(check["passed"] or not check.get("binding", True) for check in option["checks"])


def sets_wanted(option: Document) -> dict[str, int]:
    """Units needed of each type."""
    wanted: dict[str, int] = {}
    for one in option["sets"]:
        wanted[one["code"]] = wanted.get(one["code"], 0) + int(one["quantity"])
    return wanted


def hire_dates(requirement: Document) -> tuple[date, date]:
    """First and last day of hire of a requirement."""
    hire = requirement["hire"]
    return date.fromisoformat(hire["start"]), date.fromisoformat(hire["end"])


def choices_from(written: Document) -> Choices:
    """The customer's choices from their stored form; what is not stored is as usual."""
    return Choices(
        refuelling=Refuelling(written.get("refuelling", Refuelling.CUSTOMER)),
        cover=Cover(written.get("cover", Cover.WAIVER)),
        connection=Connection(written.get("connection", Connection.CUSTOMER)),
        delivery=Delivery(written.get("delivery", Delivery.OWNER)),
    )


def adjustment_from(written: Document) -> Adjustment | None:
    """A rep's adjustment from its stored form."""
    stored = written.get("adjustment")
    return Adjustment(Decimal(stored["amount"]), stored["reason"]) if stored else None


def job_for(
    *,
    option: Document,
    requirement: Document,
    result: Document,
    distance_km: Decimal,
    choices: Document,
    priced_as: Mapping[str, str],
) -> Job:
    """One option as a job; ``priced_as`` maps a set to the smaller one whose price is kept."""
    starts_on, ends_on = hire_dates(requirement)
    return Job(
        start=starts_on,
        end=ends_on,
        sets=_hired_sets(option, priced_as),
        accessories=hired_accessories(option),
        engine_hours_per_day=_engine_hours(option, result),
        fuel_l_per_day=_figure(option.get("fuel_l_per_day")),
        refuel_visits=int(option.get("refuel_visits") or 0),
        distance_km=distance_km,
        emergency=requirement["application"] == "emergency",
        choices=choices_from(choices),
        adjustment=adjustment_from(choices),
    )


def _figure(value: float | None) -> Decimal:
    return Decimal(str(round(value or 0.0, 1)))


def _engine_hours(option: Document, result: Document) -> Decimal:
    """Running hours a day of one set; a whole day where the run does not say."""
    duty = (result.get("demand") or {}).get("duty") or {}
    return _figure(option.get("running_hours_per_day") or duty.get("running_hours") or 24.0)


def _hired_sets(option: Document, priced_as: Mapping[str, str]) -> tuple[HiredSet, ...]:
    records = sets_by_code()
    return tuple(
        set_hired(records[code], count, priced_as.get(code, ""))
        for code, count in sets_wanted(option).items()
    )


def set_hired(set_: GeneratorSet, count: int, priced_as: str = "") -> HiredSet:
    """Equal sets as pricing takes them, with their mass on the road."""
    return HiredSet(
        code=set_.code,
        name=set_.name,
        quantity=count,
        mass_kg=_figure(set_.dry_mass_kg) + DIESEL_KG_PER_L * _figure(set_.tank_l),
        tank_l=_figure(set_.tank_l),
        priced_as=priced_as,
    )


def hired_accessories(option: Document) -> tuple[HiredAccessory, ...]:
    """Accessories, rows of one code and length added up."""
    names = dict(AccessoryType.objects.values_list("code", "name"))
    return tuple(
        HiredAccessory(
            code=one["code"],
            name=names.get(one["code"], str(one["code"]).replace("_", " ").capitalize()),
            quantity=int(one["quantity"]),
            length_m=_figure(one["length_m"]) if one.get("length_m") else None,
            why=str(one.get("why", ""))[:300],
        )
        for one in option["accessories"]
    )
