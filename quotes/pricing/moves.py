"""Delivery and collection: the smallest vehicle that may tow the set, by the mile, each way."""

from __future__ import annotations

from datetime import date
from decimal import ROUND_CEILING, Decimal

from quotes.pricing.days import holiday_name, is_weekend
from quotes.pricing.errors import TooHeavyToDeliver
from quotes.pricing.job import Delivery, HiredSet, Job
from quotes.pricing.money import cents, dollars
from quotes.pricing.sheet import Sheet
from quotes.pricing.terms import FeeCode, LineKind, Terms, Vehicle

KM_IN_A_MILE = Decimal("1.609344")  # exact by definition


def road_miles(distance_km: Decimal, road_factor: Decimal) -> Decimal:
    """Whole road miles, rounded up, from the straight distance and the owner's road factor."""
    miles = (distance_km * road_factor / KM_IN_A_MILE).to_integral_value(rounding=ROUND_CEILING)
    return Decimal(int(miles))


def vehicle_for(hired: HiredSet, vehicles: tuple[Vehicle, ...]) -> Vehicle:
    """The cheapest-to-call vehicle that may tow the set with a full tank."""
    able = [vehicle for vehicle in vehicles if vehicle.tows_kg >= hired.mass_kg]
    if not able:
        raise TooHeavyToDeliver(hired.code, hired.mass_kg)
    return min(able, key=lambda vehicle: (vehicle.trip, vehicle.tows_kg))


def move_lines(job: Job, terms: Terms, sheet: Sheet) -> None:
    """Delivery on the first day and collection on the last, with weekend and holiday fees."""
    if job.choices.delivery == Delivery.CUSTOMER:
        sheet.step("delivery", "Delivery", "none", None, "The customer tows the set.")
        return
    miles = road_miles(job.distance_km, terms.road_factor)
    sheet.step(
        "delivery", "Distance",
        f"{job.distance_km:.1f} km straight x {terms.road_factor} / 1.609344 = {miles} miles", None,
        "From the branch to the site by ZIP code, rounded up to whole miles.",
    )  # fmt: skip
    trips = [(hired, vehicle_for(hired, terms.vehicles)) for hired in job.sets]
    _trip_line("delivery", "Delivery", trips, miles, sheet)
    _trip_line("collection", "Collection", trips, miles, sheet)
    for day, word in ((job.start, "Delivery"), (job.end, "Collection")):
        _day_fee(day, word, sum(hired.quantity for hired in job.sets), terms, sheet)


def _trip_line(
    code: str, label: str, trips: list[tuple[HiredSet, Vehicle]], miles: Decimal, sheet: Sheet
) -> None:
    amount = Decimal(0)
    for hired, vehicle in trips:
        beyond = max(Decimal(0), miles - vehicle.included_miles)
        each = cents(vehicle.trip + beyond * vehicle.mile)
        amount += each * hired.quantity
        sheet.step(
            code, vehicle.name,
            f"{hired.quantity} x ({dollars(vehicle.trip)} + {beyond} mi x {dollars(vehicle.mile)})",
            each * hired.quantity,
            f"{hired.code} weighs {hired.mass_kg:.0f} kg with a full tank;"
            f" this vehicle may tow {vehicle.tows_kg:.0f} kg.",
        )  # fmt: skip
    count = sum(hired.quantity for hired, _ in trips)
    sheet.line(
        LineKind.DELIVERY, code, label, amount=amount, quantity=count,
        unit_price=amount / count, why=f"{miles} road miles one way",
    )  # fmt: skip


def _day_fee(day: date, word: str, trips: int, terms: Terms, sheet: Sheet) -> None:
    holiday = holiday_name(day, terms.holidays_kept)
    code = FeeCode.HOLIDAY_MOVE if holiday else FeeCode.WEEKEND_MOVE
    fee = terms.fees.get(code)
    if fee is None or not (holiday or is_weekend(day)):
        return
    named = holiday or f"{day:%A}"
    sheet.step(
        f"{word.lower()}_{code}", named, f"{trips} x {dollars(fee.amount)}",
        trips * fee.amount, f"{word} falls on {day:%d %b %Y}, {named}.",
    )  # fmt: skip
    sheet.line(
        LineKind.DELIVERY, f"{word.lower()}_{code}", f"{word} on {named}",
        amount=trips * fee.amount, quantity=trips, unit_price=fee.amount,
        why="weekend and holiday rule",
    )  # fmt: skip
