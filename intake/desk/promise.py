"""By when the customer was promised an answer, and where a case stands in the queue."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings

from intake.models import Tier

SOON = timedelta(days=2)


def promised_at(*, now: datetime, urgent: bool) -> datetime:
    """The moment by which a rep answers: minutes in an emergency, else within opening hours."""
    if urgent:
        return now + timedelta(minutes=settings.SETWRIGHT_EMERGENCY_ANSWER_MINUTES)
    return _within_opening_hours(now, timedelta(hours=settings.SETWRIGHT_ANSWER_HOURS))


def tier(*, urgent: bool, starts_on: date | None, now: datetime) -> int:
    """The coarse order of the queue for a case nobody answered yet."""
    if urgent:
        return Tier.EMERGENCY
    if starts_on is not None and starts_on <= (now + SOON).date():
        return Tier.SOON
    return Tier.NORMAL


def _within_opening_hours(start: datetime, needed: timedelta) -> datetime:
    here = _next_opening(start.astimezone(company_zone()))
    while True:
        closes = datetime.combine(here.date(), time(settings.SETWRIGHT_CLOSES_AT), here.tzinfo)
        if here + needed <= closes:
            return (here + needed).astimezone(start.tzinfo)
        needed -= closes - here
        here = _next_opening(closes)


def _next_opening(moment: datetime) -> datetime:
    """``moment`` itself while the counter is open, else when it next opens."""
    opens, closes = time(settings.SETWRIGHT_OPENS_AT), time(settings.SETWRIGHT_CLOSES_AT)
    day = moment.date()
    if moment.time() >= closes:
        day += timedelta(days=1)
    while day.weekday() >= 5:
        day += timedelta(days=1)
    return max(moment, datetime.combine(day, opens, moment.tzinfo))


def company_zone() -> ZoneInfo:
    """The zone whose opening hours count."""
    return ZoneInfo(settings.SETWRIGHT_TIME_ZONE)
