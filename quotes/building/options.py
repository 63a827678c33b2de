"""The options of a sizing run, and each as a job to price."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from quotes.fleet.selectors import Catalogue
from quotes.models import Quote
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
    *, quote: Quote, option: Document, priced_as: Mapping[str, str], hired_out: Catalogue
) -> Job:
    """One option of a quote's sizing run as a job, with the quote's own distance and choices.

    ``priced_as`` maps a set to the smaller one whose price is kept.
    """
    requirement = quote.run.requirement
    starts_on, ends_on = hire_dates(requirement)
    return Job(
        start=starts_on,
        end=ends_on,
        sets=_hired_sets(option, priced_as, hired_out.sets),
        accessories=hired_accessories(option, hired_out.accessory_names),
        engine_hours_per_day=_engine_hours(option, quote.run.result),
        fuel_l_per_day=_figure(option.get("fuel_l_per_day")),
        refuel_visits=int(option.get("refuel_visits") or 0),
        distance_km=Decimal(quote.content["source"]["distance_km"]),
        emergency=requirement["application"] == "emergency",
        choices=choices_from(quote.choices),
        adjustment=adjustment_from(quote.choices),
    )


def _figure(value: float | None) -> Decimal:
    return Decimal(str(round(value or 0.0, 1)))


def _engine_hours(option: Document, result: Document) -> Decimal:
    """Running hours a day of one set; a whole day where the run does not say."""
    duty = (result.get("demand") or {}).get("duty") or {}
    return _figure(option.get("running_hours_per_day") or duty.get("running_hours") or 24.0)


def _hired_sets(
    option: Document, priced_as: Mapping[str, str], sets: Mapping[str, GeneratorSet]
) -> tuple[HiredSet, ...]:
    return tuple(
        set_hired(sets[code], count, priced_as.get(code, ""))
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


def hired_accessories(option: Document, names: Mapping[str, str]) -> tuple[HiredAccessory, ...]:
    """Accessories as pricing takes them, by the owner's names."""
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
