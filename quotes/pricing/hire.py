"""Lines for what is hired: the sets by period and engine hours, the accessories by period."""

from __future__ import annotations

from datetime import time
from decimal import ROUND_CEILING, Decimal

from quotes.pricing.days import free_days
from quotes.pricing.errors import HireTooLong
from quotes.pricing.job import HiredAccessory, HiredSet, Job
from quotes.pricing.money import cents, dollars
from quotes.pricing.period import (
    LONGEST_HIRE_DAYS,
    ChargedDays,
    Covering,
    Rate,
    cheapest_covering,
    hire_days,
)
from quotes.pricing.sheet import Sheet
from quotes.pricing.shift import ShiftCharge, shift_charge
from quotes.pricing.terms import LineKind, Terms


def charged_days(job: Job, terms: Terms) -> ChargedDays:
    """The days priced: those of the hire, less the owner's free days, at least the minimum."""
    days = hire_days(job.start, job.end)
    if days > LONGEST_HIRE_DAYS:
        raise HireTooLong(f"{days} days is longer than {LONGEST_HIRE_DAYS}; a person prices it.")
    free = free_days(
        job.start,
        job.end,
        sundays=terms.sundays_free,
        holidays_free=terms.holidays_free,
        kept=terms.holidays_kept,
    )
    return ChargedDays(days, free, terms.minimum_days)


def period_lines(job: Job, terms: Terms, sheet: Sheet) -> ChargedDays:
    """The days, told as a step, then one line a set and one line an accessory."""
    days = charged_days(job, terms)
    _tell_days(days, terms.off_hire_cutoff, sheet)
    for hired in job.sets:
        _set_line(hired, job, days.charged, terms, sheet)
    for accessory in job.accessories:
        _accessory_line(accessory, days.charged, terms, sheet)
    return days


def _tell_days(days: ChargedDays, cutoff: time, sheet: Sheet) -> None:
    working = f"{days.hire_days} days of hire, first and last day counted"
    if days.free_days:
        working += f", less {len(days.free_days)} not charged"
    if days.charged > days.hire_days - len(days.free_days):
        working += f", at least {days.minimum_days} charged"
    free = "; ".join(f"{day:%a %d %b %Y}: {why}" for day, why in days.free_days)
    reason = f"A part of a day is a day; a set called off by {cutoff:%H:%M} is free that day."
    sheet.step(
        "period",
        "Days charged",
        f"{working}: {days.charged}",
        None,
        f"{reason} Not charged: {free}." if free else reason,
    )


def _covering_step(
    hired: HiredSet | HiredAccessory, days: int, covering: Covering, rate: Rate, sheet: Sheet
) -> None:
    pieces = (
        (covering.four_weeks, "four-week", rate.four_weeks),
        (covering.weeks, "week", rate.week),
        (covering.days, "day", rate.day),
    )
    working = " + ".join(
        f"{count} x {dollars(price)} ({name})" for count, name, price in pieces if count
    )
    working += f" = {dollars(covering.price)}"
    reason = f"{_days(days)} as {covering.words()}: the cheapest covering"
    if covering.covered_days > days:
        reason += f", and {_days(covering.covered_days)} for the price"
    sheet.step(hired.code, f"{hired.name}: period", working, covering.price, f"{reason}.")


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"


def _set_line(hired: HiredSet, job: Job, days: int, terms: Terms, sheet: Sheet) -> None:
    rate = terms.rate(hired.rate_code)
    covering = cheapest_covering(days, rate)
    _covering_step(hired, days, covering, rate, sheet)
    planned = job.engine_hours_per_day * hire_days(job.start, job.end)
    shift = shift_charge(covering, planned, terms.shift)
    _shift_step(hired, planned, covering, shift, sheet)
    each = cents(shift.price)
    why = f"{_days(days)} as {covering.words()}, {shift.name} shift"
    if hired.priced_as:
        why += f", at the price of {hired.priced_as}"
    sheet.line(
        LineKind.HIRE, hired.code, hired.name,
        amount=each * hired.quantity, quantity=hired.quantity, unit_price=each, why=why,
    )  # fmt: skip


def _shift_step(
    hired: HiredSet, planned: Decimal, covering: Covering, shift: ShiftCharge, sheet: Sheet
) -> None:
    working = f"{shift.factor.normalize():f} x {dollars(covering.price)}"
    if shift.excess_hours:
        working += f" + {shift.excess_hours.normalize():f} h x {dollars(shift.hour_price)}"
    reason = (
        f"About {planned:.0f} engine hours planned: {shift.name} shift"
        f" ({shift.included_hours:.0f} h included) costs least."
    )
    if shift.name != "triple":
        reason += f" An hour beyond the plan is {dollars(shift.hour_price)}."
    working += f" = {dollars(shift.price)}"
    sheet.step(hired.code, f"{hired.name}: engine hours", working, shift.price, reason)


def pieces_of(accessory: HiredAccessory, terms: Terms) -> int:
    """Pieces charged: by quantity, times the sections that make up the length."""
    section_m = terms.section_m.get(accessory.code)
    if section_m is None or accessory.length_m is None:
        return accessory.quantity
    sections = (accessory.length_m / section_m).to_integral_value(rounding=ROUND_CEILING)
    return accessory.quantity * max(1, int(sections))


def _accessory_line(accessory: HiredAccessory, days: int, terms: Terms, sheet: Sheet) -> None:
    rate = terms.rate(accessory.code)
    count = pieces_of(accessory, terms)
    if rate.once is not None:
        each, why = cents(rate.once), "sold, not hired"
        working = f"{dollars(each)} each, once"
        label = f"{accessory.name}: price"
        sheet.step(accessory.code, label, working, each, "Sold, not hired.")
    else:
        covering = cheapest_covering(days, rate)
        _covering_step(accessory, days, covering, rate, sheet)
        each, why = cents(covering.price), f"{_days(days)} as {covering.words()}"
    sheet.line(
        LineKind.ACCESSORY, accessory.code, accessory.name,
        amount=each * count, quantity=count, unit_price=each,
        why=accessory.why or why,
    )  # fmt: skip
