"""Weekends and public holidays: from the holidays library, by the names the owner keeps."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date, timedelta
from functools import lru_cache

SUNDAY = 6
SATURDAY = 5
OWNERS_USUAL_HOLIDAYS = (
    "New Year's Day",
    "Memorial Day",
    "Independence Day",
    "Labor Day",
    "Thanksgiving Day",
    "Christmas Day",
)


@lru_cache(maxsize=64)
def _public_holidays(year: int) -> dict[date, str]:
    import holidays

    return dict(holidays.country_holidays("US", years=year))


def holiday_name(day: date, kept: Collection[str]) -> str:
    """Name of the holiday on a day, empty where the owner keeps none; observed days count."""
    name = _public_holidays(day.year).get(day, "").removesuffix(" (observed)")
    return name if name in kept else ""


def is_weekend(day: date) -> bool:
    return day.weekday() in (SATURDAY, SUNDAY)


def days_between(start: date, end: date) -> Iterator[date]:
    """Every day from ``start`` to ``end``, both included."""
    return (start + timedelta(days=n) for n in range((end - start).days + 1))


def free_days(
    start: date, end: date, *, sundays: bool, holidays_free: bool, kept: Collection[str]
) -> tuple[tuple[date, str], ...]:
    """The days inside a hire that the owner does not charge, each with its reason."""
    reasons = (
        (day, _why_free(day, sundays, holidays_free, kept)) for day in days_between(start, end)
    )
    return tuple((day, why) for day, why in reasons if why)


def _why_free(day: date, sundays: bool, holidays_free: bool, kept: Collection[str]) -> str:
    holiday = holiday_name(day, kept) if holidays_free else ""
    return holiday or ("Sunday" if sundays and day.weekday() == SUNDAY else "")
